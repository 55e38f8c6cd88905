/* posts.c - holes and posts of a job */
#include "rodbook/posts.h"

#include "parts.h"

#include "rodbook/concrete.h"
#include "rodbook/room.h"
#include "rodbook/sure.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void
posts_release(struct posts *p)
{
    free(p->one);
    *p = (struct posts){ .job = NULL };
}

/* ---- which posts ---- */

static int
add_post(struct posts *p, uint32_t name, uint32_t *post_of)
{
    struct posts_one *grown = room_for(p->one, &p->room, p->n, sizeof *grown);
    if (!grown)
        return -1;
    p->one = grown;
    post_of[name] = (uint32_t)p->n;
    grown[p->n++] = (struct posts_one){ .at = name, .below_ground_sigma = -1, .below_grade_sigma = -1, .over_sigma = -1,
        .mark_sigma = -1, .rod_leg = LEVEL_NONE };
    return 0;
}

static int
find_posts(struct posts *p, uint32_t *post_of)
{
    const struct job *job = p->job;
    int rc = 0;
    for (uint32_t name = 0; name < job->names; name++)
        post_of[name] = JOB_NONE;
    for (uint32_t i = 0; rc == 0 && i < job->r->points; i++) {
        const struct record_point *point = &job->r->point[i];
        if (job->point_of[point->name] == i && point->kind == RECORD_POINT_POST)
            rc = add_post(p, point->name, post_of);
    }
    for (uint32_t i = 0; rc == 0 && i < job->spots; i++)
        if (job->spot[i].on == RECORD_ON_HOLE && job->spot[i].shown && post_of[job->spot[i].at] == JOB_NONE)
            rc = add_post(p, job->spot[i].at, post_of);
    return rc;
}

/* ---- what is asked ---- */

static const struct posts_asked nothing_asked = { .depth = -1, .footing = -1, .diameter = -1, .post_length = -1, .top = -1,
    .from = -1, .to = -1, .grade = RECORD_NONE, .source = RECORD_NONE, .footing_of = RECORD_NONE, .depth_of = RECORD_NONE };

static void
state(struct posts_asked *a, const struct record_hole *h, uint32_t index)
{
    if (h->depth >= 0) {
        a->depth = h->depth;
        a->depth_of = index;
    }
    if (h->footing >= 0) {
        a->footing = h->footing;
        a->footing_of = index;
    }
    a->diameter = h->diameter >= 0 ? h->diameter : a->diameter;
    a->post_length = h->post_length >= 0 ? h->post_length : a->post_length;
    a->top = h->top >= 0 ? h->top : a->top;
    a->from = h->from >= 0 ? h->from : a->from;
    a->to = h->to >= 0 ? h->to : a->to;
    a->grade = h->grade != RECORD_NONE ? h->grade : a->grade;
    a->source = h->source != RECORD_NONE ? h->source : a->source;
    a->own |= h->post != RECORD_NONE;
}

/* What is not stated of one post is as it is of all. */
static void
fill_up(struct posts_asked *own, const struct posts_asked *all)
{
    if (own->depth < 0) {
        own->depth = all->depth;
        own->depth_of = all->depth_of;
    }
    if (own->footing < 0) {
        own->footing = all->footing;
        own->footing_of = all->footing_of;
    }
    own->diameter = own->diameter >= 0 ? own->diameter : all->diameter;
    own->post_length = own->post_length >= 0 ? own->post_length : all->post_length;
    own->top = own->top >= 0 ? own->top : all->top;
    own->from = own->from >= 0 ? own->from : all->from;
    own->to = own->to >= 0 ? own->to : all->to;
    own->grade = own->grade != RECORD_NONE ? own->grade : all->grade;
    own->source = own->source != RECORD_NONE ? own->source : all->source;
}

static void
say_no_such_post(const struct posts *p, const struct record_hole *h, struct diag *d)
{
    enum { NAMES = 64 };
    const char *names[NAMES], *text = job_name(p->job, h->post);
    size_t n = p->n < NAMES ? p->n : NAMES;
    for (size_t i = 0; i < n; i++)
        names[i] = job_name(p->job, p->one[i].at);
    const char *near = text_nearest(text, strlen(text), names, n);
    diag_say(d, DIAG_ERROR, h->place, "hole-post", "%s is no point of kind post%s%s%s; write the name as it is in site or points, or give it there", text,
        near ? " (nearest is " : "", near ? near : "", near ? ")" : "");
}

static void
gather_asked(struct posts *p, const uint32_t *post_of, struct diag *d)
{
    const struct record *r = p->job->r;
    p->asked = nothing_asked;
    for (size_t i = 0; i < p->n; i++)
        p->one[i].asked = nothing_asked;
    for (uint32_t i = 0; i < r->holes; i++) {
        const struct record_hole *h = &r->hole[i];
        if (h->post == RECORD_NONE)
            state(&p->asked, h, i);
        else if (post_of[h->post] != JOB_NONE)
            state(&p->one[post_of[h->post]].asked, h, i);
        else
            say_no_such_post(p, h, d);
    }
    for (size_t i = 0; i < p->n; i++)
        fill_up(&p->one[i].asked, &p->asked);
}

/* ---- what is asked must be whole; each fault once, where it was stated ---- */

static void
look_at_asked(const struct posts *p, const struct posts_asked *a, uint8_t *said, struct diag *d)
{
    const struct record *r = p->job->r;
    bool footing = a->footing > 0, whole = a->depth < 0 || a->from >= 0;
    if (!whole && !said[a->depth_of]++)
        diag_say(d, DIAG_ERROR, r->hole[a->depth_of].place, "hole-depth",
            "the depth does not say what it is measured from; write from: ground, or from: grade where that is what the ground will be");
    if (a->depth >= 0 && footing && a->to < 0 && !said[a->footing_of]++)
        diag_say(d, DIAG_ERROR, r->hole[a->footing_of].place, "hole-depth",
            "there is a footing, and nothing says whether the depth is to its top or its bottom: ask whoever asks for the depth, "
            "and write to: bottom or to: top");
    if (a->depth >= 0 && !footing && a->to == RECORD_TO_TOP && !said[a->depth_of]++)
        diag_say(d, DIAG_ERROR, r->hole[a->depth_of].place, "hole-depth",
            "the depth is to the top of a footing, and none is stated; give its thickness: footing: 6 in");
}

static void
look_at_diameter(const struct record *r, struct diag *d)
{
    for (size_t i = 0; i < r->holes; i++) {
        const struct record_hole *h = &r->hole[i];
        if (h->diameter < 0 || (h->diameter >= SITE_AUGER_LEAST && h->diameter <= SITE_AUGER_MOST))
            continue;
        char text[LENGTH_TEXT];
        bool metric = r->job.unit == LENGTH_BARE_M;
        length_print(text, h->diameter, (struct length_style){ metric ? LENGTH_AS_MM : LENGTH_AS_IN, 0, 16 });
        diag_say(d, DIAG_WARNING, h->place, "hole-diameter", "a hole %s %s across; holes for posts are usually %s across", text,
            metric ? "mm" : "in", metric ? "300 to 600 mm" : "12 to 24 in");
    }
}

static int
look_at_all_asked(const struct posts *p, struct diag *d)
{
    uint8_t *said = room_new(p->job->r->holes, sizeof *said);
    if (!said)
        return -1;
    look_at_asked(p, &p->asked, said, d);
    for (size_t i = 0; i < p->n; i++)
        look_at_asked(p, &p->one[i].asked, said, d);
    free(said);
    look_at_diameter(p->job->r, d);
    return 0;
}

/* ---- the grade of post marks ---- */

static bool
serves_posts(const struct job_grade *g)
{
    return (g->from->serves >> RECORD_POINT_POST & 1) != 0;
}

static uint32_t
grade_named(const struct job *job, uint32_t name)
{
    for (uint32_t g = 0; g < job->grades; g++)
        if (job->grade[g].from->name == name)
            return g;
    return JOB_NONE;
}

static void
choose_grade(struct posts *p, const struct posts_options *o, struct diag *d)
{
    const struct job *job = p->job;
    p->grade = JOB_NONE;
    for (uint32_t g = 0; g < job->grades; g++) {
        bool fits = o->grade ? strcmp(job_name(job, job->grade[g].from->name), o->grade) == 0 : serves_posts(&job->grade[g]);
        if (fits && p->grade == JOB_NONE) {
            p->grade = g;
        } else if (fits && o->any_grade) {
            p->grade = JOB_NONE;
            return;
        } else if (fits) {
            const char *first = job_name(job, job->grade[p->grade].from->name);
            diag_say(d, DIAG_ERROR, job->grade[g].from->place, "post-grade",
                "grades %s and %s both serve posts; name the one that the marks on the posts are at: --grade %s", first,
                job_name(job, job->grade[g].from->name), first);
            return;
        }
    }
    if (!o->grade || p->grade != JOB_NONE)
        return;
    if (job->r->grades > 0)
        job_say_no_such_grade(job, o->grade, d);
    else
        diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "grade-name", "no grade is named so; the record has none");
}

/* The grade's elevation at a post. */
static struct site_dig_level
grade_at(const struct posts *p, uint32_t grade, uint32_t name, bool *no_place, uint8_t *quality)
{
    struct site_dig_level level = { false, 0 };
    struct site_place place = { 0, 0 };
    if (grade == JOB_NONE || !p->job->grade[grade].known)
        return level;
    const struct job_grade *g = &p->job->grade[grade];
    bool placed = job_place_of(p->job, name, &place);
    *no_place |= g->site.form != SITE_LEVEL && !placed;
    level.known = (g->site.form == SITE_LEVEL || placed) && site_grade_at(&g->site, place, &level.at) == SITE_OK;
    if (level.known && g->from->through > 0 && g->quality > *quality)
        *quality = g->quality;
    return level;
}

/* The grade that the depth is measured from; JOB_NONE where that is no grade, or it is not there. */
static uint32_t
depth_grade(const struct posts *p, const struct posts_one *one)
{
    if (one->asked.from != RECORD_FROM_GRADE)
        return JOB_NONE;
    return one->asked.grade == RECORD_NONE ? p->grade : grade_named(p->job, one->asked.grade);
}

static void
look_at_grade_names(const struct posts *p, struct diag *d)
{
    const struct record *r = p->job->r;
    for (size_t i = 0; i < r->holes; i++)
        if (r->hole[i].grade != RECORD_NONE && grade_named(p->job, r->hole[i].grade) == JOB_NONE)
            diag_say(d, DIAG_ERROR, r->hole[i].place, "hole-grade", "the depth is from grade %s, and no grade is named so",
                job_name(p->job, r->hole[i].grade));
}

/* ---- what was read ---- */

/* Readings of one thing are this many standard deviations of their difference apart at most. */
#define APART_MOST 4.0

static void
read_level(const struct posts *p, struct posts_one *one, enum posts_read which, enum record_on on)
{
    const struct job *job = p->job;
    struct posts_level *level = &one->level[which];
    uint32_t spot = job->spot_of[(size_t)one->at * RECORD_ON_COUNT + on];
    *level = (struct posts_level){ .spot = JOB_NONE };
    if (spot == JOB_NONE || !job->spot[spot].shown || (job->spot[spot].row == JOB_NONE && job->level_spot[spot].readings == 0))
        return;
    const struct level_spot *l = &job->level_spot[spot];
    level->spot = spot;
    level->adrift = l->state == LEVEL_UNKNOWN;
    level->outside = !level->adrift && l->quality == LEVEL_OUTSIDE;
    level->usable = !level->adrift && !level->outside;
    level->at = l->value;
    double apart = (double)(l->high - l->low) / (double)LENGTH_M;
    level->far_apart = level->usable && l->readings > 1 && apart > APART_MOST * sqrt(2) * job->r->job.sigma;
    if (level->usable && l->quality > one->quality)
        one->quality = l->quality;
}

static struct site_dig_level
level_of(const struct posts_one *one, enum posts_read which)
{
    return (struct site_dig_level){ one->level[which].usable, one->level[which].at };
}

static void
read_post(const struct posts *p, struct posts_one *one)
{
    read_level(p, one, POSTS_GROUND, RECORD_ON_GROUND);
    read_level(p, one, POSTS_HOLE, RECORD_ON_HOLE);
    read_level(p, one, POSTS_TOP, RECORD_ON_TOP);
    struct site_dig_level grade = grade_at(p, p->grade, one->at, &one->no_place, &one->quality);
    one->has_grade = grade.known;
    one->grade = grade.at;
    struct site_dig_level from = { false, 0 };
    if (one->asked.from == RECORD_FROM_GROUND)
        from = level_of(one, POSTS_GROUND);
    else if (one->asked.from == RECORD_FROM_GRADE)
        from = grade_at(p, depth_grade(p, one), one->at, &one->no_place, &one->quality);
    one->has_depth_from = from.known;
    one->given = (struct site_dig_given){ .ground = level_of(one, POSTS_GROUND), .grade = grade, .hole = level_of(one, POSTS_HOLE),
        .top = level_of(one, POSTS_TOP), .from = from, .depth = one->asked.depth, .to_top = one->asked.to == RECORD_TO_TOP,
        .footing = one->asked.footing > 0 ? one->asked.footing : 0, .height = one->asked.top, .post_length = one->asked.post_length };
}

static struct diag_place
place_of_spot(const struct job *job, uint32_t spot)
{
    uint32_t row = job->spot[spot].row;
    return row == JOB_NONE ? (struct diag_place){ 0, 0 } : record_row_place(&job->r->row[row]);
}

static void
say_impossible(const struct posts *p, const struct posts_one *one, enum posts_read low, struct diag *d)
{
    bool metric = p->job->r->job.unit == LENGTH_BARE_M;
    char text[LENGTH_TEXT];
    length_print(text, one->level[POSTS_HOLE].at - one->level[low].at, (struct length_style){ metric ? LENGTH_AS_M : LENGTH_AS_FT, 3, 0 });
    diag_say(d, DIAG_ERROR, place_of_spot(p->job, one->level[POSTS_HOLE].spot), "hole-levels",
        "the hole of %s reads %s %s above %s; strike what is wrong, and read it again", job_name(p->job, one->at), text,
        metric ? "m" : "ft", low == POSTS_GROUND ? "the ground there" : "the top of the footing in it");
    diag_say(d, DIAG_NOTE, place_of_spot(p->job, one->level[low].spot), NULL, "%s was read here", low == POSTS_GROUND ? "the ground" : "the top");
}

static void
dig_out(struct posts *p, struct posts_one *one, struct diag *d)
{
    switch (site_dig_out(&one->given, &one->dig)) {
    case SITE_DIG_EHOLE:
        say_impossible(p, one, POSTS_GROUND, d);
        break;
    case SITE_DIG_ETOP:
        say_impossible(p, one, POSTS_TOP, d);
        break;
    case SITE_DIG_OK:
        break;
    }
}

/* ---- rods ---- */

/* On what is judged, from the set-up that is named, else the one that last read it, else the job's last. */
static void
rod_of_post(const struct posts *p, struct posts_one *one, uint32_t setup)
{
    const struct job *job = p->job;
    const struct posts_level *read = &one->level[one->dig.by_top ? POSTS_TOP : POSTS_HOLE];
    uint32_t leg = setup != LEVEL_NONE ? setup : read->spot != JOB_NONE ? job->level_spot[read->spot].last_leg : job_last_setup(job);
    if (leg == LEVEL_NONE || !one->dig.bottom.known || !job->leg[leg].known || job->leg[leg].quality == LEVEL_OUTSIDE)
        return;
    length rod_length = job->r->job.rod_length;
    length to = one->dig.by_top ? one->given.from.at - one->given.depth : one->dig.bottom.at;
    one->rod_leg = leg;
    one->rod = site_grade_rod(job->leg[leg].hi, to);
    one->rod_read = site_dig_rod(one->rod, job->r->job.least);
    one->has_rod = one->rod > 0; /* else it is to end above the line of sight */
    one->too_long = one->has_rod && one->rod > (rod_length > 0 ? rod_length : RECORD_ROD_MOST);
}

/* ---- how sure ---- */

/* Elevation of the ground or, from a grade on, of that grade at a post, as a sum of adjusted elevations. */
static struct sure_form
form_of(const struct adjust *a, const struct posts *p, const struct posts_one *one, uint32_t grade)
{
    struct sure_form form = { .nodes = 0 };
    struct site_place place = { 0, 0 };
    double share[3];
    if (grade == JOB_NONE) {
        sure_form_add(&form, a->spot_node[one->level[POSTS_GROUND].spot], 1);
        return form;
    }
    const struct job_grade *g = &p->job->grade[grade];
    (void)job_place_of(p->job, one->at, &place);
    site_grade_shares(&g->site, place, share);
    for (uint32_t k = 0; k < g->from->through; k++)
        sure_form_add(&form, a->spot_node[g->spot[k]], share[k]);
    return form;
}

/* Standard deviation of that less a node, with `more` variance in it. */
static int
sigma_less(const struct adjust *a, struct sure_form form, uint32_t node, double more, double *sigma)
{
    double variance;
    sure_form_add(&form, node, -1);
    if (sure_form_variance(a, &form, &variance) != 0)
        return -1;
    *sigma = sqrt(variance + more);
    return 0;
}

static int
sigma_of(const struct adjust *a, const struct posts *p, const struct posts_one *one, uint32_t grade, enum posts_read low, double *sigma)
{
    return sigma_less(a, form_of(a, p, one, grade), a->spot_node[one->level[low].spot], 0, sigma);
}

static int
sigmas_of_depth(const struct adjust *a, const struct posts *p, struct posts_one *one)
{
    const struct site_dig *s = &one->dig;
    int rc = 0;
    if (s->below_ground.known)
        rc |= sigma_of(a, p, one, JOB_NONE, POSTS_HOLE, &one->below_ground_sigma);
    if (s->below_grade.known)
        rc |= sigma_of(a, p, one, p->grade, POSTS_HOLE, &one->below_grade_sigma);
    if (s->over.known)
        rc |= sigma_of(a, p, one, depth_grade(p, one), s->by_top ? POSTS_TOP : POSTS_HOLE, &one->over_sigma);
    return rc;
}

static int
sigma_of_mark(const struct adjust *a, const struct posts *p, struct posts_one *one)
{
    enum site_dig_foot foot = one->dig.foot;
    if (!one->dig.mark.known || (foot != SITE_FOOT_TOP && foot != SITE_FOOT_HOLE))
        return 0;
    return sigma_of(a, p, one, p->grade, foot == SITE_FOOT_TOP ? POSTS_TOP : POSTS_HOLE, &one->mark_sigma);
}

/* The next reading is to be deep enough beyond the doubt that it will have. */
static int
sigma_of_rod(const struct adjust *a, const struct posts *p, struct posts_one *one)
{
    double next, reading = p->job->r->job.sigma;
    if (!one->has_rod)
        return 0;
    if (sigma_less(a, form_of(a, p, one, depth_grade(p, one)), a->leg_node[one->rod_leg], reading * reading, &next) != 0)
        return -1;
    one->rod_read = site_dig_rod(one->rod + (length)ceil(p->factor * next * (double)LENGTH_M), p->job->r->job.least);
    return 0;
}

/* The levels that are judged are known first; then how much doubt there is, and what that leaves to be said. */
static int
judge_all(struct posts *p, double confidence, struct diag *d)
{
    struct adjust a;
    struct diag why = { 0 };
    p->factor = sure_factor(confidence);
    int rc = adjust_sound(&a, p->job, &why);
    p->no_sigma = why.errors > 0;
    if (rc == 0 && why.n > 0)
        diag_say(d, DIAG_WARNING, why.item[0].place, why.item[0].check, "%s; so holes are taken as they read", why.item[0].text);
    for (size_t i = 0; rc == 0 && !p->no_sigma && i < p->n; i++) {
        struct posts_one *one = &p->one[i];
        rc = sigmas_of_depth(&a, p, one);
        if (one->over_sigma > 0)
            one->given.doubt = p->factor * one->over_sigma * (double)LENGTH_M;
        dig_out(p, one, d);
        if (rc == 0)
            rc = sigma_of_mark(&a, p, one) | sigma_of_rod(&a, p, one);
    }
    rc = why.no_memory ? -1 : rc;
    diag_release(&why);
    adjust_release(&a);
    return rc;
}

/* ---- all of it ---- */

static bool
lacks(const struct posts_one *one)
{
    bool read = one->level[POSTS_HOLE].spot != JOB_NONE;
    return (one->asked.depth >= 0 && !one->has_depth_from) || (read && !one->has_grade);
}

static void
count(struct posts *p)
{
    bool outside = p->job->outside;
    p->good = !outside;
    for (size_t i = 0; i < p->n; i++) {
        const struct posts_one *one = &p->one[i];
        p->read += one->level[POSTS_HOLE].spot != JOB_NONE;
        p->enough += one->dig.verdict == SITE_DIG_ENOUGH;
        p->deeper += one->dig.verdict == SITE_DIG_DEEPER;
        p->doubt += one->dig.verdict == SITE_DIG_DOUBT;
        bool too_short = one->dig.cut_off.known && one->dig.cut_off.at < 0;
        p->good &= !lacks(one) && !too_short;
    }
    p->good &= p->deeper == 0 && p->doubt == 0;
}

static int
work(struct posts *p, const struct posts_options *o, struct diag *d)
{
    uint32_t *post_of = room_new(p->job->names, sizeof *post_of), setup = LEVEL_NONE;
    const struct job_options named = { .setup_entry = o->setup_entry, .setup_number = o->setup_number };
    size_t errors = d->errors;
    int rc = post_of ? find_posts(p, post_of) : -1;
    if (rc == 0) {
        gather_asked(p, post_of, d);
        rc = look_at_all_asked(p, d);
    }
    free(post_of);
    if (rc != 0)
        return -1;
    choose_grade(p, o, d);
    look_at_grade_names(p, d);
    (void)job_named_setup(p->job, &named, &setup, d);
    for (size_t i = 0; i < p->n; i++) {
        read_post(p, &p->one[i]);
        dig_out(p, &p->one[i], d);
    }
    if (d->errors > errors)
        return 0;
    for (size_t i = 0; i < p->n; i++)
        rod_of_post(p, &p->one[i], setup);
    if (o->confidence > 0)
        rc = judge_all(p, o->confidence, d);
    count(p);
    return rc;
}

int
posts_work(struct posts *p, const struct job *job, const struct posts_options *options, struct diag *d)
{
    *p = (struct posts){ .job = job, .grade = JOB_NONE };
    return work(p, options, d);
}
