/* earth.c - the pad's spots, its surface, and how sure its volumes are */
#include "rodbook/earth.h"

#include "parts.h"

#include "rodbook/room.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void
earth_release(struct earth *e)
{
    free(e->spot);
    free(e->cell);
    free(e->gap);
    *e = (struct earth){ 0 };
}

/* ---- grade ---- */

static void
find_grade(struct earth *e, struct diag *d)
{
    const struct record *r = e->job->r;
    e->own = (struct record_grade){ .name = RECORD_NONE, .subgrade = true, .level = e->from->level, .entry = e->from->entry,
        .place = e->from->place, .through_place = e->from->place, .slope_place = e->from->place };
    const struct record_grade *from = &e->own;
    for (size_t i = r->grades; e->from->grade != RECORD_NONE && i-- > 0;)
        if (r->grade[i].name == e->from->grade) {
            from = &r->grade[i];
            break;
        }
    job_grade_of(e->job, from, &e->grade, d);
    e->below = from->subgrade ? 0 : e->from->stone;
}

/* ---- spots ---- */

static struct earth_spot *
add_spot(struct earth *e, uint32_t at)
{
    struct earth_spot *grown = room_for(e->spot, &e->spot_room, e->spots, sizeof *grown);
    if (!grown)
        return NULL;
    e->spot = grown;
    struct earth_spot *s = &grown[e->spots++];
    *s = (struct earth_spot){ .at = at, .on = RECORD_ON_GROUND, .spot = JOB_NONE, .sigma = -1, .same = JOB_NONE };
    s->placed = job_place_of(e->job, at, &s->place);
    return s;
}

/* True where rod readings are what a spot has its elevation from. */
static bool
is_levelled(const struct job *job, uint32_t spot)
{
    return spot != JOB_NONE && (job->spot[spot].row != JOB_NONE || job->level_spot[spot].readings > 0);
}

static bool
is_ground(const struct job *job, uint32_t name)
{
    uint32_t point = job->point_of[name];
    return point != JOB_NONE && job->r->point[point].kind == RECORD_POINT_GROUND;
}

/* The ground at a point: read on the ground, or on itself where the point is ground; JOB_NONE. */
static uint32_t
ground_of(const struct job *job, uint32_t name)
{
    const uint32_t *on = &job->spot_of[(size_t)name * RECORD_ON_COUNT];
    if (is_levelled(job, on[RECORD_ON_GROUND]))
        return on[RECORD_ON_GROUND];
    return is_ground(job, name) && is_levelled(job, on[RECORD_ON_MARK]) ? on[RECORD_ON_MARK] : JOB_NONE;
}

static void
take_ground(struct earth *e, struct earth_spot *s, uint32_t spot)
{
    const struct job *job = e->job;
    s->spot = spot;
    if (spot != JOB_NONE) {
        s->on = job->spot[spot].on;
        s->quality = job->level_spot[spot].quality;
        s->has_ground = job->level_spot[spot].state != LEVEL_UNKNOWN && s->quality != LEVEL_OUTSIDE;
        s->ground = job->level_spot[spot].value;
    }
    s->has_grade = e->grade.known && s->placed && site_grade_at(&e->grade.site, s->place, &s->grade) == SITE_OK;
    s->grade -= s->has_grade ? e->below : 0;
    s->used = s->has_ground && s->has_grade;
    e->unused += !s->used;
    if (!s->used)
        return;
    struct site_move m = site_move(s->ground, s->grade, 0);
    s->cut = m.cut;
    s->fill = m.fill;
}

static int
listed_spots(struct earth *e)
{
    for (uint32_t i = 0; i < e->from->spots; i++) {
        uint32_t name = e->job->r->pad_spot[e->from->first + i];
        struct earth_spot *s = add_spot(e, name);
        if (!s)
            return -1;
        take_ground(e, s, ground_of(e->job, name));
    }
    return 0;
}

/* In the order in which they were first read; then what was not read, in the order of points. */
static int
all_ground(struct earth *e)
{
    const struct job *job = e->job;
    struct site_place place;
    for (uint32_t i = 0; i < job->spots; i++) {
        uint32_t name = job->spot[i].at, ground = ground_of(job, name);
        if (job->spot[i].before != JOB_NONE || ground == JOB_NONE || job->spot[i].on != job->spot[ground].on)
            continue;
        if (!job_place_of(job, name, &place) && !is_ground(job, name))
            continue; /* some other ground; but what is named as ground and has no place is missing */
        struct earth_spot *s = add_spot(e, name);
        if (!s)
            return -1;
        take_ground(e, s, ground);
    }
    for (uint32_t i = 0; i < job->r->points; i++) {
        const struct record_point *p = &job->r->point[i];
        if (job->point_of[p->name] != i || p->kind != RECORD_POINT_GROUND || ground_of(job, p->name) != JOB_NONE)
            continue;
        struct earth_spot *s = add_spot(e, p->name);
        if (!s)
            return -1;
        take_ground(e, s, JOB_NONE);
    }
    return 0;
}

/* ---- what bears the surface ---- */

/* Spots that are used, in arrays as volume.h wants them. */
struct ground {
    size_t n;
    struct site_place *at;
    double *above;  /* m */
    uint32_t *of;   /* into earth.spot */
    uint32_t *same;
    double *cut, *fill; /* m2: weights */
    void *room;
};

static void
ground_release(struct ground *g)
{
    free(g->at);
    free(g->above);
    free(g->of);
    free(g->same);
    free(g->cut);
    free(g->fill);
    free(g->room);
}

static int
ground_gather(struct ground *g, const struct earth *e)
{
    size_t n = e->spots;
    *g = (struct ground){ .at = room_new(n, sizeof *g->at), .above = room_new(n, sizeof *g->above), .of = room_new(n, sizeof *g->of),
        .same = room_new(n, sizeof *g->same), .cut = room_new(n, sizeof *g->cut), .fill = room_new(n, sizeof *g->fill),
        .room = room_new(site_volume_room(n), 1) };
    if (!g->at || !g->above || !g->of || !g->same || !g->cut || !g->fill || !g->room)
        return -1;
    for (uint32_t i = 0; i < e->spots; i++) {
        if (!e->spot[i].used)
            continue;
        g->at[g->n] = e->spot[i].place;
        g->above[g->n] = (double)(e->spot[i].ground - e->spot[i].grade) / (double)LENGTH_M;
        g->of[g->n++] = i;
    }
    return 0;
}

/* ---- squares ---- */

/* A spot of the record where the grid has none that is used. */
static uint32_t
spot_at(const struct earth *e, struct site_place place)
{
    for (uint32_t i = 0; e->unused > 0 && i < e->spots; i++)
        if (e->spot[i].placed && !e->spot[i].used && e->spot[i].place.x == place.x && e->spot[i].place.y == place.y)
            return i;
    return JOB_NONE;
}

static int
name_gaps(struct earth *e, const struct site_gap *gap, size_t gaps)
{
    e->gap = room_new(gaps, sizeof *e->gap);
    if (!e->gap)
        return -1;
    for (size_t i = 0; i < gaps; i++) {
        struct site_place place = { e->grid.origin.x + gap[i].column * e->grid.dx, e->grid.origin.y + gap[i].row * e->grid.dy };
        e->gap[e->gaps++] = (struct earth_gap){ place, spot_at(e, place), gap[i].cells };
    }
    return 0;
}

static void
take_cell(struct earth *e, struct ground *g, const struct site_cell *from, struct earth_cell *cell)
{
    double above[4], cut[4], fill[4], square = site_volume_square(&e->grid);
    for (int k = 0; k < 4; k++) {
        above[k] = g->above[from->corner[k]];
        cell->corner[k] = g->of[from->corner[k]];
        e->spot[cell->corner[k]].squares++;
    }
    cell->above = (above[0] + above[1] + above[2] + above[3]) / 4;
    site_volume_of_cell(&e->grid, from, above, e->bounded ? &e->inside : NULL, &cell->v, cut, fill);
    site_volume_four_point(square, above, &cell->rule_cut, &cell->rule_fill);
    for (int k = 0; k < 4; k++) {
        g->cut[from->corner[k]] += cut[k];
        g->fill[from->corner[k]] += fill[k];
    }
    e->v.cut += cell->v.cut;
    e->v.fill += cell->v.fill;
    e->v.net += cell->v.net;
    e->v.area += cell->v.area;
    e->rule_cut += cell->rule_cut;
    e->rule_fill += cell->rule_fill;
}

static bool
holds_squares(const struct earth *e)
{
    const struct site_rectangle *in = &e->inside;
    for (size_t i = 0; e->bounded && i < e->cells; i++) {
        struct site_place low = e->spot[e->cell[i].corner[0]].place, high = e->spot[e->cell[i].corner[2]].place;
        if (low.x < in->from.x || low.y < in->from.y || high.x > in->to.x || high.y > in->to.y)
            return false;
    }
    return true;
}

static int
over_squares(struct earth *e, struct ground *g, const uint32_t *lattice)
{
    struct site_cell *cell = room_new(g->n, sizeof *cell);
    struct site_gap *gap = room_new(4 * g->n, sizeof *gap);
    size_t gaps;
    int rc = cell && gap ? 0 : -1;
    if (rc == 0) {
        e->cells = site_volume_cells(&e->grid, lattice, cell, gap, &gaps, &e->left_out);
        e->cell = room_new(e->cells, sizeof *e->cell);
        rc = e->cell ? name_gaps(e, gap, gaps) : -1;
    }
    for (size_t i = 0; rc == 0 && i < e->cells; i++)
        take_cell(e, g, &cell[i], &e->cell[i]);
    for (size_t i = 0; rc == 0 && i < g->n; i++)
        e->sum += g->above[i] * e->spot[g->of[i]].squares;
    if (rc == 0)
        e->whole = holds_squares(e);
    free(cell);
    free(gap);
    return rc;
}

static void
note_same(struct earth *e, struct ground *g)
{
    for (size_t i = 0; i < g->n; i++)
        if (g->same[i] != i)
            e->spot[g->of[i]].same = g->of[g->same[i]];
    site_volume_even(g->same, g->n, g->above);
}

/* The first spot without which the others make a grid; JOB_NONE. */
static uint32_t
in_the_way(struct ground *g, uint32_t *lattice)
{
    struct site_grid grid;
    uint32_t found = JOB_NONE;
    for (size_t last = g->n - 1, i = g->n; i-- > 0 && g->n <= EARTH_TRIED && g->n > 4;) {
        struct site_place place = g->at[i];
        g->at[i] = g->at[last];
        found = site_volume_grid(g->at, last, g->room, &grid, lattice, g->same) == SITE_VOLUME_OK ? g->of[i] : found;
        g->at[i] = place;
    }
    return found;
}

/* Squares, where the spots make a grid; *made says whether. */
static int
try_squares(struct earth *e, struct ground *g, bool *made, struct diag *d)
{
    uint32_t *lattice = room_new(4 * g->n, sizeof *lattice);
    if (!lattice)
        return -1;
    int rc = 0;
    *made = site_volume_grid(g->at, g->n, g->room, &e->grid, lattice, g->same) == SITE_VOLUME_OK;
    if (*made) {
        e->surface = EARTH_SQUARES;
        note_same(e, g);
        rc = over_squares(e, g, lattice);
    } else {
        e->odd = in_the_way(g, lattice);
        e->surface = e->odd == JOB_NONE ? EARTH_NO_GRID : EARTH_OFF_GRID;
        if (e->from->method == RECORD_PAD_SQUARES)
            diag_say(d, DIAG_ERROR, e->from->place, "pad-squares", "the spots make no regular grid%s%s; list those that do in spots, or "
                "leave method out", e->odd == JOB_NONE ? "" : "; they would without ",
                e->odd == JOB_NONE ? "" : job_name(e->job, e->spot[e->odd].at));
    }
    free(lattice);
    return rc;
}

/* ---- triangles ---- */

static void
say_no_surface(const struct earth *e, size_t used, struct diag *d)
{
    uint32_t i = 0;
    while (i < e->spots && e->spot[i].used)
        i++;
    if (used >= 3)
        diag_say(d, DIAG_ERROR, e->from->place, "pad-spots", "the spots of the pad stand in one line; read ground beside it");
    else if (i == e->spots)
        diag_say(d, DIAG_ERROR, e->from->place, "pad-spots", "a pad wants three spots with ground, x and y, and has %zu; read more ground", used);
    else
        diag_say(d, DIAG_ERROR, e->from->place, "pad-spots", "a pad wants three spots with ground, x and y, and has %zu; %s has no %s", used,
            job_name(e->job, e->spot[i].at), e->spot[i].placed ? "ground" : "x and y in site or points");
}

static int
over_triangles(struct earth *e, struct ground *g, struct diag *d)
{
    struct site_triangle *triangle = room_new(2 * g->n, sizeof *triangle);
    if (!triangle)
        return -1;
    enum site_volume_status status = site_volume_triangulate(g->at, g->n, g->room, triangle, &e->triangles, g->same);
    if (status == SITE_VOLUME_OK) {
        note_same(e, g);
        site_volume_over(g->at, g->n, g->above, triangle, e->triangles, e->bounded ? &e->inside : NULL, &e->v, g->cut, g->fill);
    } else if (status == SITE_VOLUME_EFAR) {
        diag_say(d, DIAG_ERROR, e->from->place, "pad-spots", "a spot of the pad lies more than 5 km from %s; look at x and y, or list "
            "the spots of the pad in spots", job_name(e->job, e->spot[g->of[0]].at));
    } else {
        say_no_surface(e, g->n, d);
    }
    free(triangle);
    return 0;
}

/* ---- the pad's boundary ---- */

static void
find_boundary(struct earth *e)
{
    const struct record_pad *p = e->from;
    const struct record *r = e->job->r;
    if (!p->bounded)
        return;
    length along = p->along, across = p->across;
    if (p->by_site && r->sites > 0) { /* there is one: the record was read without errors */
        along = r->site[r->sites - 1].along;
        across = r->site[r->sites - 1].across;
    }
    e->bounded = true;
    e->inside = (struct site_rectangle){ { p->x - p->margin, p->y - p->margin },
        { p->x + along + p->margin, p->y + across + p->margin } };
    e->area = (double)(e->inside.to.x - e->inside.from.x) / (double)LENGTH_M * ((double)(e->inside.to.y - e->inside.from.y) / (double)LENGTH_M);
}

/* ---- how sure ---- */

/* How much of each mark of the grade is in it at a spot; how many marks. */
static uint32_t
shares_at(const struct earth *e, const struct earth_spot *s, double share[3])
{
    site_grade_shares(&e->grade.site, s->place, share);
    return e->grade.from->through;
}

/* Variance of ground less grade at each used spot: Z_ii - 2 sum s_k Z_ik + sum s_k s_l Z_kl. */
static int
spot_sigmas(struct earth *e, const struct adjust *a)
{
    double *with[3] = { NULL, NULL, NULL };
    int rc = 0;
    for (uint32_t k = 0; k < e->grade.from->through && rc == 0; k++) {
        uint32_t node = a->spot_node[e->grade.spot[k]];
        with[k] = room_new(2 * a->net.nodes, sizeof(double)); /* of a held mark: noughts */
        rc = with[k] ? 0 : -1;
        if (rc == 0 && node < ADJUST_NOTHING)
            net_covariance(&a->net, node, with[k]);
    }
    for (size_t i = 0; i < e->spots && rc == 0; i++) {
        struct earth_spot *s = &e->spot[i];
        uint32_t node = s->used ? a->spot_node[s->spot] : ADJUST_NOTHING;
        double share[3], sum = node < ADJUST_NOTHING ? a->net.variance[node] : 0;
        if (node == ADJUST_NOTHING)
            continue;
        uint32_t marks = shares_at(e, s, share);
        for (uint32_t k = 0; k < marks; k++) {
            sum -= node < ADJUST_NOTHING ? 2 * share[k] * with[k][node] : 0;
            for (uint32_t l = 0; l < marks; l++) {
                uint32_t other = a->spot_node[e->grade.spot[l]];
                sum += other < ADJUST_NOTHING ? share[k] * share[l] * with[k][other] : 0;
            }
        }
        s->sigma = sum > 0 ? sqrt(sum) : 0;
    }
    for (int k = 0; k < 3; k++)
        free(with[k]);
    return rc;
}

/* Standard deviation of the sum of weight times ground less grade; room for 3 times as many doubles as there are nodes. */
static double
sigma_of(const struct earth *e, const struct ground *g, const struct adjust *a, const double *first, const double *second, double *room)
{
    double *c = room, *out = room + a->net.nodes, variance = 0, share[3];
    memset(c, 0, a->net.nodes * sizeof *c);
    for (size_t i = 0; i < g->n; i++) {
        const struct earth_spot *s = &e->spot[g->of[i]];
        double weight = (first ? first[i] : 0) + (second ? second[i] : 0);
        uint32_t node = a->spot_node[s->spot], marks = shares_at(e, s, share);
        if (node == ADJUST_NOTHING)
            return -1;
        if (node < ADJUST_NOTHING)
            c[node] += weight;
        for (uint32_t k = 0; k < marks; k++)
            if (a->spot_node[e->grade.spot[k]] < ADJUST_NOTHING)
                c[a->spot_node[e->grade.spot[k]]] -= weight * share[k];
    }
    if (a->net.nodes > 0)
        net_covariance_of(&a->net, c, out);
    for (size_t i = 0; i < a->net.nodes; i++)
        variance += c[i] * out[i];
    return variance > 0 ? sqrt(variance) : 0;
}

static int
find_sigmas(struct earth *e, const struct ground *g)
{
    struct adjust a;
    struct diag d = { 0 };
    int rc = adjust_open(&a, e->job, &d);
    double *room = rc == 0 && d.errors == 0 ? room_new(3 * a.net.nodes, sizeof *room) : NULL;
    if (rc == 0 && d.errors == 0)
        rc = room ? spot_sigmas(e, &a) : -1;
    if (rc == 0 && room && e->known) {
        e->sigma_cut = sigma_of(e, g, &a, g->cut, NULL, room);
        e->sigma_fill = sigma_of(e, g, &a, NULL, g->fill, room);
        e->sigma_net = sigma_of(e, g, &a, g->cut, g->fill, room);
    }
    free(room);
    diag_release(&d);
    adjust_release(&a);
    return rc;
}

/* ---- all of it ---- */

static void
find_stone(struct earth *e)
{
    const struct record_pad *p = e->from;
    if (!e->bounded)
        e->area = e->known ? e->v.area : -1;
    else if (e->known) {
        double beyond = e->area - e->v.area;
        e->uncovered = beyond > 1e-6 * e->area ? beyond : 0; /* roundings, and slivers */
    }
    if (p->stone > 0 && e->area >= 0)
        e->stone = e->area * ((double)p->stone / (double)LENGTH_M);
    if (e->stone >= 0 && p->density > 0)
        e->stone_mass = e->stone * p->density;
    if (e->known && p->swell >= 0)
        e->loose = e->v.cut * (1 + p->swell);
}

/* Ground that was read is all that can be worked with: spots on lines outside their limit, or a grade that hangs on one, are
 * told by the sheet; too few spots are an error. */
static bool
waits(const struct earth *e, const struct ground *g)
{
    bool outside = !e->grade.known;
    for (size_t i = 0; i < e->spots; i++)
        outside |= e->spot[i].spot != JOB_NONE && !e->spot[i].has_ground;
    return g->n < 3 && outside;
}

static int
find_surface(struct earth *e, struct ground *g, struct diag *d)
{
    bool made = false;
    if (waits(e, g))
        return 0;
    e->surface = EARTH_TRIANGLES;
    if (e->from->method != RECORD_PAD_TRIANGLES && try_squares(e, g, &made, d) != 0)
        return -1;
    if (!made && d->errors == 0 && over_triangles(e, g, d) != 0)
        return -1;
    e->known = d->errors == 0;
    site_volume_even(g->same, g->n, g->cut);
    site_volume_even(g->same, g->n, g->fill);
    return 0;
}

int
earth_work(struct earth *e, const struct job *job, struct diag *d)
{
    struct ground g = { 0 };
    *e = (struct earth){ .job = job, .odd = JOB_NONE, .sigma_cut = -1, .sigma_fill = -1, .sigma_net = -1, .area = -1, .stone = -1,
        .stone_mass = -1, .loose = -1 };
    if (job->r->pads == 0) {
        diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "no-pad",
            "the record has no pad; add one: pad: {grade: NAME, stone: 4 in}");
        return 0;
    }
    e->from = &job->r->pad[job->r->pads - 1];
    find_grade(e, d);
    find_boundary(e);
    if (d->errors > 0)
        return 0;
    int rc = e->from->spots > 0 ? listed_spots(e) : all_ground(e);
    if (rc == 0)
        rc = ground_gather(&g, e);
    if (rc == 0)
        rc = find_surface(e, &g, d);
    if (rc == 0 && d->errors == 0)
        rc = find_sigmas(e, &g);
    find_stone(e);
    e->good = e->known && e->unused == 0 && !(e->uncovered > 0) && !job->outside;
    ground_release(&g);
    return rc;
}
