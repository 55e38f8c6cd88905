/* grades.c - what a grade stands on: ground shots, the building, its posts */
#include "grades_parts.h"
#include "parts.h"

#include "rodbook/room.h"
#include "rodbook/sure.h"

#include <stdlib.h>
#include <string.h>

struct grades_options
grades_usual(enum length_unit unit)
{
    bool metric = unit == LENGTH_BARE_M;
    return (struct grades_options){ .clear = metric ? GRADES_CLEAR_M : GRADES_CLEAR_FT, .most = { 1, GRADES_MOST_RUN },
        .fall = { SITE_CHOOSE_FALL_RISE, SITE_CHOOSE_FALL_RUN }, .depth = -1, .post_length = -1, .height = -1, .confidence = 0.95 };
}

void
grades_release(struct grades *g)
{
    free(g->shot);
    free(g->left_out);
    free(g->post);
    free(g->triangle);
    free(g->place);
    free(g->real);
    *g = (struct grades){ .shot = NULL };
}

/* ---- ground shots ---- */

static int
gather_shots(struct grades *g)
{
    const struct job *job = g->job;
    g->shot = room_new(job->spots, sizeof *g->shot);
    g->left_out = room_new(job->spots, sizeof *g->left_out);
    for (uint32_t i = 0; g->shot && g->left_out && i < job->spots; i++) {
        const struct job_spot *spot = &job->spot[i];
        const struct level_spot *level = &job->level_spot[i];
        struct grades_shot s = { .spot = i, .elevation = level->value, .sigma = -1, .quality = level->quality };
        if (job_ground_of(job, spot->at) != i)
            continue; /* no ground, or not where it was last */
        bool known = level->state != LEVEL_UNKNOWN && level->quality != LEVEL_OUTSIDE;
        if (known && job_place_of(job, spot->at, &s.at))
            g->shot[g->shots++] = s;
        else
            g->left_out[g->left++] = i;
    }
    return g->shot && g->left_out ? 0 : -1;
}

/* Why a shot cannot be used. */
static const char *
left_words(const struct job *job, uint32_t spot)
{
    struct site_place place;
    if (job->level_spot[spot].state == LEVEL_UNKNOWN)
        return "has no elevation: its set-up hangs on nothing";
    return job_place_of(job, job->spot[spot].at, &place) ? "is on levels outside their limit" : "has no x and y in points";
}

static bool
enough_shots(const struct grades *g, struct diag *d)
{
    const struct diag_place nowhere = { 0, 0 };
    if (g->shots >= 3)
        return true;
    if (g->shots + g->left == 0) {
        diag_say(d, DIAG_ERROR, nowhere, "no-ground", "the record has no ground shots to choose a grade from; book three or more, "
            "better a grid over the building and 10 ft round it, as {at: G1, on: ground, is: ...}, and give their x and y in points");
        return false;
    }
    diag_say(d, DIAG_ERROR, nowhere, "no-ground", "a grade is chosen from three ground shots or more, and %zu can be used%s%s%s%s%s",
        g->shots, g->left ? "; " : "; shoot more of the ground, off one line", g->left ? job_name(g->job, g->job->spot[g->left_out[0]].at) : "",
        g->left ? " ground " : "", g->left ? left_words(g->job, g->left_out[0]) : "", g->left > 1 ? ", and others cannot be used either" : "");
    return false;
}

static int
take_sigmas(struct grades *g)
{
    struct adjust a;
    struct diag d = { 0 };
    length elevation;
    int rc = adjust_sound(&a, g->job, &d);
    g->no_sigma = d.errors > 0;
    for (size_t i = 0; rc == 0 && !g->no_sigma && i < g->shots; i++)
        if (!adjust_spot(&a, g->shot[i].spot, &elevation, &g->shot[i].sigma))
            g->shot[i].sigma = -1;
    rc = d.no_memory ? -1 : rc;
    diag_release(&d);
    adjust_release(&a);
    return rc;
}

/* ---- the building ---- */

/* The rectangle about places that are given one by one. */
struct about {
    struct site_rectangle r;
    size_t n;
};

static void
about_add(struct about *a, struct site_place p)
{
    if (a->n++ == 0)
        a->r = (struct site_rectangle){ p, p };
    a->r.from.x = p.x < a->r.from.x ? p.x : a->r.from.x;
    a->r.from.y = p.y < a->r.from.y ? p.y : a->r.from.y;
    a->r.to.x = p.x > a->r.to.x ? p.x : a->r.to.x;
    a->r.to.y = p.y > a->r.to.y ? p.y : a->r.to.y;
}

static bool
about_is_wide(const struct about *a)
{
    return a->n > 1 && a->r.from.x < a->r.to.x && a->r.from.y < a->r.to.y;
}

/* Every point of a kind that has a place, each at its last. */
static struct about
about_kind(const struct job *job, enum record_point_kind kind)
{
    struct about a = { .n = 0 };
    for (uint32_t i = 0; i < job->r->points; i++) {
        const struct record_point *p = &job->r->point[i];
        if (p->placed && p->kind == kind && job->point_of[p->name] == i)
            about_add(&a, (struct site_place){ p->x, p->y });
    }
    return a;
}

static void
find_building(struct grades *g)
{
    const struct record *r = g->job->r;
    struct about corners = about_kind(g->job, RECORD_POINT_CORNER), posts = about_kind(g->job, RECORD_POINT_POST), shots = { .n = 0 };
    for (size_t i = 0; i < g->shots; i++)
        about_add(&shots, g->shot[i].at);
    if (r->sites > 0) {
        g->outline = GRADES_OF_SITE;
        g->building = (struct site_rectangle){ { 0, 0 }, { r->site[r->sites - 1].along, r->site[r->sites - 1].across } };
    } else if (about_is_wide(&corners)) {
        g->outline = GRADES_OF_CORNERS;
        g->building = corners.r;
    } else if (about_is_wide(&posts)) {
        g->outline = GRADES_OF_POSTS;
        g->building = posts.r;
    } else {
        g->outline = GRADES_OF_SHOTS;
        g->building = shots.r;
    }
}

static bool
is_in(const struct site_rectangle *r, struct site_place p)
{
    return p.x >= r->from.x && p.x <= r->to.x && p.y >= r->from.y && p.y <= r->to.y;
}

/* What the strings run over: out to the battens. */
static struct site_rectangle
strings_of(const struct grades *g)
{
    length out = g->job->r->job.unit == LENGTH_BARE_M ? GRADES_STRINGS_M : GRADES_STRINGS_FT;
    struct about battens = about_kind(g->job, RECORD_POINT_BATTEN);
    struct site_rectangle r = g->building;
    if (battens.n > 0) {
        about_add(&battens, r.from);
        about_add(&battens, r.to);
        return battens.r;
    }
    return (struct site_rectangle){ { r.from.x - out, r.from.y - out }, { r.to.x + out, r.to.y + out } };
}

static void
place_shots(struct grades *g)
{
    struct site_rectangle strings = strings_of(g);
    for (uint32_t i = 0; i < g->shots; i++) {
        struct grades_shot *s = &g->shot[i];
        s->distance = site_choose_outside(&g->building, s->at, &s->wall);
        s->strung = is_in(&strings, s->at);
        g->near += s->distance > 0 && s->distance <= SITE_CHOOSE_NEAR;
    }
}

/* Which shots count as on the building, and the highest and lowest of them. */
static void
rank_shots(struct grades *g)
{
    bool first = true;
    for (uint32_t i = 0; i < g->shots; i++) {
        g->shot[i].on = g->shot[i].strung && g->shot[i].weight > 0;
        g->on += g->shot[i].on;
    }
    for (uint32_t i = 0; i < g->shots; i++) {
        if (g->on > 0 && !g->shot[i].on)
            continue;
        if (first || g->shot[i].elevation > g->shot[g->highest].elevation)
            g->highest = i;
        if (first || g->shot[i].elevation < g->shot[g->lowest].elevation)
            g->lowest = i;
        first = false;
    }
}

/* ---- the surface between the shots ---- */

#define FAR_FROM_ORIGIN (999 * LENGTH_KM) /* a slope is known up to 1000 km from where x and y are 0; walls are near their shots */

/* False where a shot is so far off that no slope has an elevation there: said. */
static bool
near_origin(const struct grades *g, struct diag *d)
{
    for (size_t i = 0; i < g->shots; i++) {
        if (llabs(g->shot[i].at.x) <= FAR_FROM_ORIGIN && llabs(g->shot[i].at.y) <= FAR_FROM_ORIGIN)
            continue;
        diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "ground-place",
            "%s ground stands 1000 km or more from where x and y are 0; look at its x and y", job_name(g->job, g->job->spot[g->shot[i].spot].at));
        return false;
    }
    return true;
}

static void
say_far(const struct grades *g, struct diag *d)
{
    const struct grades_shot *s = g->shot;
    size_t i = 1;
    while (i + 1 < g->shots && llabs(s[i].at.x - s->at.x) <= SITE_VOLUME_FARTHEST && llabs(s[i].at.y - s->at.y) <= SITE_VOLUME_FARTHEST)
        i++;
    diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "ground-place", "%s and %s ground stand more than 5 km apart; look at their x and y",
        job_name(g->job, g->job->spot[s->spot].at), job_name(g->job, g->job->spot[s[i].spot].at));
}

static void
weigh(struct grades *g, double *cut_weight, double *fill_weight)
{
    struct site_volume v;
    double *above = grades_real(g, GRADES_REAL_ROOM);
    const struct site_rectangle *b = &g->building;
    for (size_t i = 0; i < g->shots; i++)
        above[i] = 0;
    site_volume_over(g->place, g->shots, above, g->triangle, g->triangles, b, &v, cut_weight, fill_weight);
    for (size_t i = 0; i < g->shots; i++)
        g->shot[i].weight = cut_weight[i] + fill_weight[i];
    g->covered = v.area;
    g->area = g->outline == GRADES_OF_SHOTS ? v.area : grades_m(b->to.x - b->from.x) * grades_m(b->to.y - b->from.y);
}

/* Triangles, and heights and weights with them. False where the shots bear no surface: said. */
static bool
make_surface(struct grades *g, void *room, uint32_t *same, struct diag *d)
{
    double *x = grades_real(g, GRADES_REAL_X), *y = grades_real(g, GRADES_REAL_Y), *z = grades_real(g, GRADES_REAL_Z);
    for (size_t i = 0; i < g->shots; i++) {
        g->place[i] = g->shot[i].at;
        x[i] = grades_m(g->shot[i].at.x);
        y[i] = grades_m(g->shot[i].at.y);
        z[i] = grades_m(g->shot[i].elevation);
    }
    enum site_volume_status status = site_volume_triangulate(g->place, g->shots, room, g->triangle, &g->triangles, same);
    if (status == SITE_VOLUME_EFAR) {
        say_far(g, d);
        return false;
    }
    if (status != SITE_VOLUME_OK) {
        diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "ground-line",
            "the %zu ground shots stand in one line and do not show how the ground lies beside it; shoot some off that line, or look at "
            "their x and y", g->shots);
        return false;
    }
    site_volume_even(same, g->shots, z);
    weigh(g, grades_real(g, GRADES_REAL_ROOM + 1), grades_real(g, GRADES_REAL_ROOM + 2));
    return true;
}

static int
surface(struct grades *g, struct diag *d)
{
    g->place = room_new(g->shots, sizeof *g->place);
    g->real = room_new(GRADES_REALS * g->shots, sizeof *g->real);
    g->triangle = room_new(2 * g->shots, sizeof *g->triangle);
    void *room = malloc(site_volume_room(g->shots));
    uint32_t *same = room_new(g->shots, sizeof *same);
    bool there = g->place && g->real && g->triangle && room && same;
    if (there)
        (void)make_surface(g, room, same, d);
    free(room);
    free(same);
    return there ? 0 : -1;
}

/* ---- posts ---- */

/* A depth to the bottom of a footing holds the footing; one to its top does not. Which of the two is never assumed. */
static void
ask_depth(struct grades *g, struct grades_post *p, const struct posts_asked *h)
{
    const struct grades_options *o = &g->options;
    length depth = o->depth >= 0 ? o->depth : h->depth, footing = h->footing > 0 ? h->footing : 0;
    bool from_said = h->from >= 0 || o->depth >= 0, to_said = h->to >= 0 || footing == 0;
    p->hole.bought = o->post_length >= 0 ? o->post_length : h->post_length;
    p->hole.height = o->height >= 0 ? o->height : h->top > 0 ? h->top : 0;
    p->asked = depth >= 0 && from_said && to_said;
    if (!p->asked)
        return;
    p->hole.from_grade = h->from == RECORD_FROM_GRADE && h->grade == RECORD_NONE;
    g->no_top |= o->height < 0 && h->top < 0;
    p->hole.footing = footing;
    p->hole.foot = h->to == RECORD_TO_TOP ? depth : depth > footing ? depth - footing : 0;
}

/* The ground at a post: as shot there, else from the surface; its deviation is then that of three shots that err alike, at most. */
static void
ground_at(const struct grades *g, struct grades_post *p, double *share)
{
    uint32_t spot = g->job->spot_of[(size_t)p->name * RECORD_ON_COUNT + RECORD_ON_GROUND];
    double height, sigma = 0;
    for (uint32_t i = 0; spot != JOB_NONE && i < g->shots; i++)
        if (g->shot[i].spot == spot) {
            p->ground = true;
            p->shot = i;
            p->hole.ground = g->shot[i].elevation;
            p->hole.sigma = g->shot[i].sigma;
            return;
        }
    p->ground = site_choose_surface(g->place, grades_real(g, GRADES_REAL_Z), g->shots, g->triangle, g->triangles, p->at, &height, share);
    if (!p->ground)
        return;
    for (size_t i = 0; i < g->shots; i++)
        sigma += share[i] > 0 ? share[i] * g->shot[i].sigma : 0;
    p->hole.ground = (length)(height * (double)LENGTH_M + (height < 0 ? -0.5 : 0.5));
    p->hole.sigma = g->no_sigma ? -1 : sigma;
}

/* A depth that is measured from a grade of the record, and not from the one that is being chosen: from the ground then, by as much
 * less as the ground lies below that grade. Where it is not known at the post nothing is asked that can be held to. */
static void
measure_from_named(const struct grades *g, struct grades_post *p, uint32_t name)
{
    const struct record *r = g->job->r;
    struct job_grade grade = { .known = false };
    struct diag quiet = { 0 };
    length level = 0;
    for (size_t i = r->grades; i-- > 0 && !grade.from;)
        if (r->grade[i].name == name)
            job_grade_of(g->job, &r->grade[i], &grade, &quiet);
    diag_release(&quiet);
    p->asked = p->asked && grade.known && site_grade_at(&grade.site, p->at, &level) == SITE_OK;
    if (p->asked && p->ground)
        p->hole.foot += p->hole.ground - level;
}

static void
gather_post(struct grades *g, struct grades_post *post, const struct posts_asked *asked)
{
    ask_depth(g, post, asked);
    ground_at(g, post, grades_real(g, GRADES_REAL_ROOM));
    if (post->asked && asked->from == RECORD_FROM_GRADE && asked->grade != RECORD_NONE)
        measure_from_named(g, post, asked->grade);
    g->unknown += !post->ground;
    g->between += post->ground && post->shot == JOB_NONE;
}

static int
gather_posts(struct grades *g)
{
    const struct record *r = g->job->r;
    g->post = room_new(r->points, sizeof *g->post);
    struct posts_asked *asked = room_new(r->points, sizeof *asked);
    uint32_t *post_of = room_new(r->names.n, sizeof *post_of);
    bool room = g->post && asked && post_of;
    for (uint32_t i = 0; room && i < r->names.n; i++)
        post_of[i] = JOB_NONE;
    for (uint32_t i = 0; room && i < r->points; i++) {
        const struct record_point *p = &r->point[i];
        if (!p->placed || p->kind != RECORD_POINT_POST || g->job->point_of[p->name] != i)
            continue;
        post_of[p->name] = (uint32_t)g->posts;
        g->post[g->posts++] = (struct grades_post){ .name = p->name, .at = { p->x, p->y }, .shot = JOB_NONE };
    }
    if (room)
        (void)job_asked(r, post_of, asked, g->posts);
    for (size_t i = 0; room && i < g->posts; i++)
        gather_post(g, &g->post[i], &asked[i]);
    free(asked);
    free(post_of);
    return room ? 0 : -1;
}

int
grades_work(struct grades *g, const struct job *job, const struct grades_options *options, struct diag *d)
{
    size_t errors = d->errors;
    *g = (struct grades){ .job = job, .options = *options, .factor = sure_factor(options->confidence) };
    if (gather_shots(g) != 0)
        return -1;
    if (!enough_shots(g, d))
        return 0;
    if (!near_origin(g, d))
        return 0;
    if (take_sigmas(g) != 0)
        return -1;
    find_building(g);
    place_shots(g);
    if (surface(g, d) != 0)
        return -1;
    if (d->errors > errors)
        return 0;
    rank_shots(g);
    return gather_posts(g) == 0 ? grades_candidates(g) : -1;
}
