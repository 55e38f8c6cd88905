/* stakes.c - grades as the record states them, and every mark against them */
#include "parts.h"

#include "rodbook/room.h"
#include "rodbook/sure.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- grades ---- */

/* The place of a point; false where it has none. */
bool
job_place_of(const struct job *job, uint32_t name, struct site_place *place)
{
    uint32_t point = job->point_of[name];
    if (point == JOB_NONE || !job->r->point[point].placed)
        return false;
    *place = (struct site_place){ job->r->point[point].x, job->r->point[point].y };
    return true;
}

static void
say_unplaced(const struct job *job, const struct record_grade *g, struct diag_place place, uint32_t name, struct diag *d)
{
    diag_say(d, DIAG_ERROR, place, "grade-place", "grade %s needs x and y of %s; give them in points",
        job_name(job, g->name), job_name(job, name));
}

/* Elevation of a mark that the grade goes through, with its offset. False: said, or not good enough to use. */
static bool
mark_elevation(const struct job *job, const struct record_grade *g, const struct record_through *t, struct job_grade *out,
    length *elevation, struct diag *d)
{
    uint32_t spot = job->spot_of[(size_t)t->at * RECORD_ON_COUNT + t->on];
    if (spot == JOB_NONE || job->level_spot[spot].state == LEVEL_UNKNOWN) {
        diag_say(d, DIAG_ERROR, g->through_place, "grade-mark",
            "grade %s goes through %s %s, which was not read; read it, or name what was",
            job_name(job, g->name), job_name(job, t->at), record_on_word(t->on));
        return false;
    }
    out->spot[t - g->at] = spot;
    if (job->level_spot[spot].quality > out->quality)
        out->quality = job->level_spot[spot].quality;
    *elevation = job->level_spot[spot].value + t->plus;
    return job->level_spot[spot].quality != LEVEL_OUTSIDE;
}

static bool
plane_through(const struct job *job, const struct record_grade *g, struct job_grade *out, struct diag *d)
{
    struct site_place at[3];
    length up[3];
    bool known = true;
    for (int i = 0; i < 3; i++) {
        known &= mark_elevation(job, g, &g->at[i], out, &up[i], d);
        if (!job_place_of(job, g->at[i].at, &at[i])) {
            say_unplaced(job, g, g->through_place, g->at[i].at, d);
            known = false;
        }
    }
    if (known && site_plane(at, up, &out->site) == SITE_ECOLLINEAR) {
        diag_say(d, DIAG_ERROR, g->through_place, "grade-plane",
            "the three marks of grade %s stand in one line and bear no plane; take one off the line",
            job_name(job, g->name));
        return false;
    }
    return known;
}

static bool
direction_of(const struct job *job, const struct record_grade *g, struct site_place origin, struct site_place *towards,
    struct diag *d)
{
    const struct record_slope *s = &g->slope;
    if (s->towards != RECORD_TOWARDS_POINT) {
        *towards = (struct site_place){ s->towards == RECORD_TOWARDS_LENGTH, s->towards == RECORD_TOWARDS_WIDTH };
        return true;
    }
    struct site_place point;
    if (!job_place_of(job, s->point, &point)) {
        say_unplaced(job, g, g->slope_place, s->point, d);
        return false;
    }
    *towards = (struct site_place){ point.x - origin.x, point.y - origin.y };
    return true;
}

static bool
level_or_slope(const struct job *job, const struct record_grade *g, struct job_grade *out, struct diag *d)
{
    struct site_place origin = { 0, 0 }, towards;
    length level = g->level;
    if (g->through == 1 && !mark_elevation(job, g, &g->at[0], out, &level, d))
        return false;
    if (!g->slope.given) {
        out->site = site_level(level);
        return true;
    }
    if (g->through == 1 && !job_place_of(job, g->at[0].at, &origin)) {
        say_unplaced(job, g, g->through_place, g->at[0].at, d);
        return false;
    }
    if (!direction_of(job, g, origin, &towards, d))
        return false;
    if (site_slope(origin, level, g->slope.rise, g->slope.run, towards, &out->site) == SITE_OK)
        return true;
    diag_say(d, DIAG_ERROR, g->slope_place, "grade-slope",
        "grade %s slopes towards the place that it starts from; name another point, or length or width",
        job_name(job, g->name));
    return false;
}

void
job_grade_of(const struct job *job, const struct record_grade *g, struct job_grade *out, struct diag *d)
{
    *out = (struct job_grade){ .from = g, .spot = { JOB_NONE, JOB_NONE, JOB_NONE } };
    out->tolerance = g->has_tolerance ? g->tolerance : job->r->job.least / 2;
    out->known = g->through == 3 ? plane_through(job, g, out, d) : level_or_slope(job, g, out, d);
}

void
job_say_no_such_grade(const struct job *job, const char *only, struct diag *d)
{
    enum { NAMES = 64 };
    const char *names[NAMES];
    size_t n = job->r->grades < NAMES ? job->r->grades : NAMES;
    for (size_t i = 0; i < n; i++)
        names[i] = job_name(job, job->r->grade[i].name);
    const char *near = text_nearest(only, strlen(only), names, n);
    diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "grade-name", "no grade is named %s; %s is %s",
        text_is_plain(only, strlen(only)) ? only : "so", near ? "nearest" : "the last one", near ? near : names[n - 1]);
}

/* The last of each name holds; grades stand in the order in which their names came up. */
static int
add_grades(struct job *job, const struct job_options *options, struct diag *d)
{
    const char *only = options->grade;
    size_t n = job->r->grades;
    job->grade = room_new(n, sizeof *job->grade);
    uint32_t *last = room_new(job->r->names.n, sizeof *last); /* index + 1 */
    if (!job->grade || !last) {
        free(last);
        return -1;
    }
    for (size_t i = 0; i < n; i++)
        last[job->r->grade[i].name] = (uint32_t)i + 1;
    for (size_t i = 0; i < n; i++) {
        uint32_t name = job->r->grade[i].name, holds = last[name];
        last[name] = 0;
        if (holds > 0 && (!only || strcmp(only, job_name(job, name)) == 0))
            job_grade_of(job, &job->r->grade[holds - 1], &job->grade[job->grades++], d);
    }
    free(last);
    if (job->grades > 0 || (options->grade_optional && n == 0))
        return 0;
    if (only && n > 0)
        job_say_no_such_grade(job, only, d);
    else
        diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "no-grade",
            "the record has no grade to hold marks against; add one: grade: {name: string, means: finish, level: ...}");
    return 0;
}

/* ---- stakes ---- */

/* What was read at a point, as a bit of record_grade.serves: ground at a post is ground. */
uint32_t
job_kind_bit(const struct job *job, uint32_t point, uint32_t on)
{
    static const enum record_point_kind by_on[RECORD_ON_COUNT] = { RECORD_POINT_KINDS, RECORD_POINT_BATTEN,
        RECORD_POINT_GROUND, RECORD_POINT_POST, RECORD_POINT_POST, RECORD_POINT_FOOTING };
    enum record_point_kind kind = point == JOB_NONE ? RECORD_POINT_KINDS : job->r->point[point].kind;
    return UINT32_C(1) << (on == RECORD_ON_GROUND || kind == RECORD_POINT_KINDS ? by_on[on] : kind);
}

/* A mark that is no batten, post or ground: `points` may name it for a drawing's sake, and it holds everything else. */
static bool
is_benchmark(const struct job *job, uint32_t at)
{
    uint32_t point = job->point_of[at];
    return job->mark_of[at] != JOB_NONE && (point == JOB_NONE || job->r->point[point].kind == RECORD_POINT_KINDS);
}

/* Marks against grade: battens, posts, tops, ground, and whatever `points` names; never the bottom of a hole or a benchmark. */
static bool
is_staked(const struct job *job, const struct job_spot *spot)
{
    if (spot->on == RECORD_ON_HOLE || (spot->on == RECORD_ON_MARK && is_benchmark(job, spot->at)))
        return false;
    return spot->on != RECORD_ON_MARK || job->point_of[spot->at] != JOB_NONE;
}

static struct job_stake *
new_stake(struct job *job, uint32_t at, uint32_t on, uint32_t grade)
{
    struct job_stake *grown = room_for(job->stake, &job->stake_room, job->stakes, sizeof *grown);
    if (!grown) {
        job->no_memory = true;
        return NULL;
    }
    job->stake = grown;
    struct job_stake *s = &grown[job->stakes++];
    *s = (struct job_stake){ .at = at, .on = (uint8_t)on, .grade_index = grade, .spot = JOB_NONE, .rod_leg = LEVEL_NONE,
        .quality = job->grade[grade].quality, .sigma = -1, .verdict = JOB_UNREAD };
    return s;
}

static void
grade_of_stake(struct job *job, struct job_stake *s, struct diag *d)
{
    const struct job_grade *g = &job->grade[s->grade_index];
    struct site_place place = { 0, 0 };
    if (!g->known)
        return;
    if (g->site.form != SITE_LEVEL && !job_place_of(job, s->at, &place)) {
        job->gaps = true;
        diag_say(d, DIAG_WARNING, g->from->place, "stake-place",
            "%s has no x and y, and grade %s slopes; give them in points", job_name(job, s->at),
            job_name(job, g->from->name));
        return;
    }
    if (site_grade_at(&g->site, place, &s->grade) == SITE_OK) {
        s->has_grade = true;
        return;
    }
    job->gaps = true;
    diag_say(d, DIAG_WARNING, g->from->place, "stake-place", "%s is more than 1000 km from where grade %s starts",
        job_name(job, s->at), job_name(job, g->from->name));
}

static void
rod_of_stake(const struct job *job, struct job_stake *s, uint32_t leg)
{
    if (leg == LEVEL_NONE || !s->has_grade || !job->leg[leg].known || job->leg[leg].quality == LEVEL_OUTSIDE)
        return;
    length rod = job->r->job.rod_length;
    s->has_rod = true;
    s->rod_leg = leg;
    s->grade_rod = site_grade_rod(job->leg[leg].hi, s->grade);
    s->too_long = s->grade_rod > (rod > 0 ? rod : RECORD_ROD_MOST);
    if (s->grade_rod < 0)
        s->offset = site_offset(s->grade_rod, length_whole(job->r->job.unit), &s->offset_rod);
}

static void
compare_move(const struct job *job, struct job_stake *s, length tolerance)
{
    uint32_t before = job->spot[s->spot].before;
    if (before == JOB_NONE || job->level_spot[before].state == LEVEL_UNKNOWN
        || job->level_spot[before].quality == LEVEL_OUTSIDE)
        return;
    length was = job->level_spot[before].value;
    struct site_move asked = site_move(was, s->grade, tolerance);
    s->has_moved = true;
    s->asked = asked.move;
    s->done = s->adjusted - was;
    s->moved = site_judge_moved(asked, s->move);
}

static void
read_stake(struct job *job, uint32_t spot, uint32_t grade, uint32_t setup, struct diag *d)
{
    const struct level_spot *level = &job->level_spot[spot];
    struct job_stake *s = new_stake(job, job->spot[spot].at, job->spot[spot].on, grade);
    if (!s)
        return;
    s->spot = spot;
    s->readings = level->readings;
    s->apart = level->high - level->low;
    if (level->quality > s->quality)
        s->quality = level->quality;
    s->adrift = level->state == LEVEL_UNKNOWN;
    s->has_adjusted = !s->adrift && level->quality != LEVEL_OUTSIDE;
    s->adjusted = level->value;
    grade_of_stake(job, s, d);
    rod_of_stake(job, s, setup != LEVEL_NONE ? setup : level->last_leg);
    s->verdict = JOB_UNSURE;
    if (s->has_adjusted && s->has_grade) {
        s->move = site_move(s->adjusted, s->grade, job->grade[grade].tolerance);
        s->verdict = s->move.leave ? JOB_LEAVE : JOB_MOVE;
        compare_move(job, s, job->grade[grade].tolerance);
    }
    job->off_grade |= s->verdict != JOB_LEAVE;
}

static void
unread_stake(struct job *job, uint32_t point, uint32_t grade, uint32_t setup, struct diag *d)
{
    static const enum record_on on_of[RECORD_POINT_KINDS + 1] = { RECORD_ON_BATTEN, RECORD_ON_POST, RECORD_ON_MARK,
        RECORD_ON_GROUND, RECORD_ON_TOP, RECORD_ON_MARK };
    const struct record_point *p = &job->r->point[point];
    struct job_stake *s = new_stake(job, p->name, on_of[p->kind], grade);
    if (!s)
        return;
    grade_of_stake(job, s, d);
    rod_of_stake(job, s, setup);
    if (s->has_rod && job->leg[s->rod_leg].quality > s->quality)
        s->quality = job->leg[s->rod_leg].quality; /* all that is known here is the grade rod */
    job->off_grade = true;
}

bool
job_named_setup(const struct job *job, const struct job_options *o, uint32_t *setup, struct diag *d)
{
    *setup = LEVEL_NONE;
    if (o->setup_entry == 0)
        return true;
    *setup = job_setup(job, o->setup_entry, o->setup_number);
    if (*setup != JOB_NONE)
        return true;
    diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "setup-name",
        "there is no set-up %u.%u; the first set-up of the run in entry 5 is 5.1", (unsigned)o->setup_entry,
        (unsigned)o->setup_number);
    return false;
}

uint32_t
job_last_setup(const struct job *job)
{
    for (size_t l = job->legs; l-- > 0;)
        if (job->leg[l].count > 0 && job->leg[l].known)
            return (uint32_t)l;
    return LEVEL_NONE;
}

/* True where rod readings are what a spot has its elevation from. */
static bool
is_levelled(const struct job *job, uint32_t spot)
{
    return spot != JOB_NONE && (job->spot[spot].row != JOB_NONE || job->level_spot[spot].readings > 0);
}

uint32_t
job_ground_of(const struct job *job, uint32_t name)
{
    const uint32_t *on = &job->spot_of[(size_t)name * RECORD_ON_COUNT];
    uint32_t point = job->point_of[name];
    if (is_levelled(job, on[RECORD_ON_GROUND]))
        return on[RECORD_ON_GROUND];
    bool is_ground = point != JOB_NONE && job->r->point[point].kind == RECORD_POINT_GROUND;
    return is_ground && is_levelled(job, on[RECORD_ON_MARK]) ? on[RECORD_ON_MARK] : JOB_NONE;
}

static void
stakes_of_grade(struct job *job, uint32_t grade, bool any_kind, uint32_t setup, uint8_t *read, struct diag *d)
{
    uint32_t serves = any_kind ? UINT32_MAX : job->grade[grade].from->serves;
    for (uint32_t i = 0; i < job->spots && !job->no_memory; i++) {
        const struct job_spot *spot = &job->spot[i];
        if (spot->before != JOB_NONE)
            continue; /* a mark stands where it was first read, and shows its last position */
        uint32_t last = job->spot_of[(size_t)spot->at * RECORD_ON_COUNT + spot->on];
        bool levelled = job->spot[last].row != JOB_NONE || job->level_spot[last].readings > 0;
        if (!levelled || !is_staked(job, spot) || !(serves & job_kind_bit(job, spot->point, spot->on)))
            continue;
        read[spot->at] = 1;
        read_stake(job, last, grade, setup, d);
    }
    uint32_t standing = setup != LEVEL_NONE ? setup : job_last_setup(job);
    for (uint32_t i = 0; i < job->r->points && !job->no_memory; i++) {
        const struct record_point *p = &job->r->point[i];
        if (job->point_of[p->name] != i || is_benchmark(job, p->name))
            continue; /* a later entry places it anew */
        if (p->derived && p->kind == RECORD_POINT_KINDS) {
            read[p->name] = 0; /* where strings cross, corners of posts: nobody is to read them */
            continue;
        }
        bool has_grade = p->placed || (job->grade[grade].known && job->grade[grade].site.form == SITE_LEVEL);
        if (!read[p->name] && has_grade && (serves & job_kind_bit(job, i, RECORD_ON_MARK)))
            unread_stake(job, i, grade, standing, d);
        read[p->name] = 0;
    }
}

int
job_stake_out(struct job *job, const struct job_options *options, const struct adjust *net, struct diag *d)
{
    uint32_t setup;
    if (add_grades(job, options, d) != 0)
        return -1;
    if (!job_named_setup(job, options, &setup, d) || d->errors > 0)
        return 0;
    uint8_t *read = room_new(job->r->names.n, sizeof *read);
    if (!read)
        return -1;
    for (uint32_t g = 0; g < job->grades && job->stakes <= JOB_STAKES_MOST; g++)
        stakes_of_grade(job, g, options->grade != NULL, setup, read, d);
    free(read);
    if (job->stakes > JOB_STAKES_MOST)
        diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "too-many",
            "more than %d marks against grades; name one grade with --grade", JOB_STAKES_MOST);
    if (job->no_memory || d->errors > 0 || !(options->confidence > 0))
        return job->no_memory ? -1 : 0;
    return sure_stakes(job, net, options->confidence, d);
}
