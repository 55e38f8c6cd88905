/* candidates.c - the grades that could be, and what each asks for */
#include "grades_parts.h"
#include "parts.h"

#include "rodbook/chance.h"
#include "rodbook/room.h"

#include <stdlib.h>

/* ---- what each promises ---- */

static void
set_level(struct grades_candidate *c, length level)
{
    c->level = level;
    c->slope = (struct site_ratio){ 0, 1 };
    c->grade = site_level(level);
}

static int
clear_ground(struct grades *g, struct grades_candidate *c)
{
    struct site_shot *shot = room_new(g->shots, sizeof *shot);
    uint32_t *of = room_new(g->shots, sizeof *of);
    size_t n = 0, decides = 0;
    length level = 0;
    for (uint32_t i = 0; shot && of && i < g->shots; i++)
        if (g->shot[i].strung) {
            of[n] = i;
            shot[n++] = (struct site_shot){ g->shot[i].elevation, g->shot[i].sigma };
        }
    bool there = shot && of && site_choose_clear(shot, n, g->options.clear, g->factor, g->job->r->job.least, &level, &decides);
    if (there) {
        c->decides = of[decides];
        set_level(c, level);
    }
    c->lack = there ? GRADES_THERE : GRADES_NO_AREA;
    int rc = shot && of ? 0 : -1;
    free(shot);
    free(of);
    return rc;
}

/* Fit over the shots that stand for some of the building. */
static enum site_plane_status
fit(const struct grades *g, int slopes, struct site_plane_fit *f)
{
    const double *x = grades_real(g, GRADES_REAL_X), *y = grades_real(g, GRADES_REAL_Y), *z = grades_real(g, GRADES_REAL_Z);
    double *some = room_new(7 * g->shots, sizeof *some);
    size_t n = 0;
    if (!some)
        return SITE_PLANE_EMEMORY;
    double *w = some + 3 * g->shots;
    for (size_t i = 0; i < g->shots; i++) {
        if (!(g->shot[i].weight > 0))
            continue;
        some[n] = x[i];
        some[g->shots + n] = y[i];
        some[2 * g->shots + n] = z[i];
        w[n++] = g->shot[i].weight;
    }
    enum site_plane_status status = site_plane_fit(some, some + g->shots, some + 2 * g->shots, w, n, slopes, w + g->shots, f);
    free(some);
    return status;
}

static length
nm(double m)
{
    return (length)(m * (double)LENGTH_M + (m < 0 ? -0.5 : 0.5));
}

static int
balance_level(struct grades *g, struct grades_candidate *c)
{
    struct site_plane_fit f;
    enum site_plane_status status = fit(g, SITE_PLANE_LEVEL, &f);
    c->lack = status == SITE_PLANE_OK ? GRADES_THERE : GRADES_NO_AREA;
    if (status == SITE_PLANE_OK)
        set_level(c, site_choose_round(nm(f.height) + g->options.under, g->job->r->job.least, SITE_CHOOSE_NEAREST));
    return status == SITE_PLANE_EMEMORY ? -1 : 0;
}

/* Whether a slope is no more than what the scatter of the shots may make of level ground: Student's t. */
static bool
may_be_chance(const struct grades *g, const struct grades_candidate *c)
{
    double t = 0, size = c->found < 0 ? -c->found : c->found;
    return c->found_sigma >= 0
        && chance_student_at((1 - g->options.confidence) / 2, CHANCE_ABOVE, g->plane.freedom, &t) == CHANCE_OK
        && size <= t * c->found_sigma;
}

/*
 * One of the plane's two slopes, through the centroid, as far as it may slope, in a form that a crew can set. It is the
 * slope of the fit of both: fitted alone it would take up some of the other where the shots do not lie evenly.
 */
static enum grades_lack
balance_slope(const struct grades *g, bool along, struct grades_candidate *c)
{
    const struct site_rectangle *b = &g->building;
    const struct site_plane_fit *f = &g->plane;
    length least = g->job->r->job.least, over = along ? b->to.x - b->from.x : b->to.y - b->from.y;
    if (!g->has_plane)
        return g->covered > 0 ? GRADES_NO_SPREAD : GRADES_NO_AREA;
    c->found = along ? f->along : f->across;
    c->found_sigma = f->scatter >= 0 ? f->scatter * __builtin_sqrt(along ? f->var_along : f->var_across) : -1;
    c->may_be_chance = may_be_chance(g, c);
    if (g->options.most.rise == 0)
        return GRADES_LEVEL_SET;
    c->slope = site_choose_one_in(c->found, over / least);
    c->bound = site_choose_hold(&c->slope, g->options.most);
    if (c->slope.rise == 0)
        return GRADES_NO_SLOPE;
    double at_origin = f->height - (along ? f->x : f->y) * (double)c->slope.rise / (double)c->slope.run;
    c->level = site_choose_round(nm(at_origin) + g->options.under, least, SITE_CHOOSE_NEAREST);
    (void)site_slope((struct site_place){ 0, 0 }, c->level, c->slope.rise, c->slope.run, (struct site_place){ along, !along }, &c->grade);
    return GRADES_THERE;
}

/* What is missing for any post to say how high a grade may be. */
static enum grades_lack
lack_of_posts(const struct grades *g)
{
    enum grades_lack lack = g->posts == 0 ? GRADES_NO_POSTS : GRADES_NO_DEPTH;
    for (size_t i = 0; i < g->posts; i++) {
        const struct grades_post *p = &g->post[i];
        enum grades_lack one = !p->asked ? GRADES_NO_DEPTH : p->hole.bought < 0 ? GRADES_NO_LENGTH
            : !p->ground         ? GRADES_NO_GROUND
                                                             : GRADES_THERE;
        if (one == GRADES_THERE)
            return one;
        lack = one > lack ? one : lack;
    }
    return lack;
}

static int
posts_reach(struct grades *g, struct grades_candidate *c)
{
    struct site_choose_post *post = room_new(g->posts, sizeof *post);
    uint32_t *of = room_new(g->posts, sizeof *of);
    size_t n = 0, decides = 0;
    length level = 0;
    c->lack = lack_of_posts(g);
    for (uint32_t i = 0; post && of && i < g->posts; i++)
        if (g->post[i].asked && g->post[i].ground && g->post[i].hole.bought >= 0) {
            of[n] = i;
            post[n++] = g->post[i].hole;
        }
    if (post && of && c->lack == GRADES_THERE) {
        enum site_choose_reach reach = site_choose_reach(post, n, g->factor, g->job->r->job.least, &level, &decides);
        c->lack = reach == SITE_CHOOSE_REACHES ? GRADES_THERE : reach == SITE_CHOOSE_ANY ? GRADES_ANY : GRADES_TOO_SHORT;
        if (reach != SITE_CHOOSE_ANY)
            c->decides = of[decides];
        if (reach == SITE_CHOOSE_REACHES)
            set_level(c, level);
    }
    int rc = post && of ? 0 : -1;
    free(post);
    free(of);
    return rc;
}

/* ---- what each asks for ---- */

/* The earth that is to be there; a place of a shot, post or wall is never too far for a grade (volume.h is stricter). */
static length
earth_at(const struct grades *g, const struct grades_candidate *c, struct site_place place)
{
    length grade = c->level;
    (void)site_grade_at(&c->grade, place, &grade);
    return grade - g->options.under;
}

static void
move_earth(const struct grades *g, struct grades_candidate *c)
{
    double *above = grades_real(g, GRADES_REAL_ROOM);
    const double *z = grades_real(g, GRADES_REAL_Z);
    for (uint32_t i = 0; i < g->shots; i++) {
        length earth = earth_at(g, c, g->shot[i].at), off = g->shot[i].elevation - earth;
        above[i] = z[i] - grades_m(earth);
        if (!g->shot[i].on)
            continue;
        if (off > 0 && (c->cut_shot == JOB_NONE || off > c->cut)) {
            c->cut = off;
            c->cut_shot = i;
        }
        if (off < 0 && (c->fill_shot == JOB_NONE || -off > c->fill)) {
            c->fill = -off;
            c->fill_shot = i;
        }
    }
    site_volume_over(g->place, g->shots, above, g->triangle, g->triangles, &g->building, &c->earth, NULL, NULL);
}

static void
set_posts(const struct grades *g, struct grades_candidate *c)
{
    for (uint32_t i = 0; i < g->posts; i++) {
        const struct grades_post *p = &g->post[i];
        if (!p->asked || !p->ground)
            continue;
        length grade = earth_at(g, c, p->at) + g->options.under;
        struct site_choose_dug dug = site_choose_dug(&p->hole, grade);
        if (c->hole_post == JOB_NONE || dug.hole > c->hole) {
            c->hole = dug.hole;
            c->hole_post = i;
        }
        if (c->post_post == JOB_NONE || dug.post > c->post) {
            c->post = dug.post;
            c->post_post = i;
        }
        if (p->hole.bought < 0 || dug.post <= p->hole.bought)
            continue;
        c->too_short++;
        if (c->short_post == JOB_NONE || dug.post - p->hole.bought > c->short_by) {
            c->short_by = dug.post - p->hole.bought;
            c->short_post = i;
        }
    }
}

static void
run_water(const struct grades *g, struct grades_candidate *c)
{
    for (uint32_t i = 0; i < g->shots && g->outline != GRADES_OF_SHOTS; i++) {
        const struct grades_shot *s = &g->shot[i];
        if (s->distance == 0 || s->distance > SITE_CHOOSE_NEAR)
            continue;
        struct site_choose_fall f = site_choose_fall(earth_at(g, c, s->wall), (struct site_shot){ s->elevation, s->sigma }, g->factor,
            s->distance, g->options.fall);
        c->wet += f.drains == SITE_CHOOSE_WET;
        c->doubtful += f.drains == SITE_CHOOSE_DOUBTFUL;
        if (c->wettest != JOB_NONE && f.need - f.fall <= c->fall.need - c->fall.fall)
            continue;
        c->wettest = i;
        c->fall = f;
    }
}

/* The ground's own plane, and what it comes to over the building. -1 without memory. */
static int
own_plane(struct grades *g)
{
    const struct site_rectangle *b = &g->building;
    const double over[2] = { grades_m(b->to.x - b->from.x), grades_m(b->to.y - b->from.y) };
    enum site_plane_status status = fit(g, SITE_PLANE_BOTH, &g->plane);
    g->has_plane = status == SITE_PLANE_OK;
    g->scatter = g->up_sigma[0] = g->up_sigma[1] = -1;
    if (!g->has_plane)
        return status == SITE_PLANE_EMEMORY ? -1 : 0;
    const struct site_plane_fit *p = &g->plane;
    g->up[0] = nm(p->along * over[0]);
    g->up[1] = nm(p->across * over[1]);
    if (p->scatter < 0)
        return 0;
    g->up_sigma[0] = p->scatter * __builtin_sqrt(p->var_along) * over[0];
    g->up_sigma[1] = p->scatter * __builtin_sqrt(p->var_across) * over[1];
    g->scatter = p->scatter / __builtin_sqrt(p->weight / (double)(p->freedom + 3));
    return 0;
}

int
grades_candidates(struct grades *g)
{
    struct grades_candidate *c = g->candidate;
    for (int k = 0; k < GRADES_KINDS; k++)
        c[k] = (struct grades_candidate){ .found_sigma = -1, .slope = { 0, 1 }, .decides = JOB_NONE, .cut_shot = JOB_NONE,
            .fill_shot = JOB_NONE, .hole_post = JOB_NONE, .post_post = JOB_NONE, .short_post = JOB_NONE, .wettest = JOB_NONE };
    if (clear_ground(g, &c[GRADES_CLEAR]) != 0 || balance_level(g, &c[GRADES_BALANCE]) != 0
        || own_plane(g) != 0 || posts_reach(g, &c[GRADES_POSTS]) != 0)
        return -1;
    c[GRADES_LENGTH].lack = balance_slope(g, true, &c[GRADES_LENGTH]);
    c[GRADES_WIDTH].lack = balance_slope(g, false, &c[GRADES_WIDTH]);
    for (int k = 0; k < GRADES_KINDS; k++) {
        if (c[k].lack != GRADES_THERE)
            continue;
        move_earth(g, &c[k]);
        set_posts(g, &c[k]);
        run_water(g, &c[k]);
    }
    return 0;
}
