/* setting.c - rows of posts as they stand after setting */
#include "rodbook/setting.h"

#include "parts.h"

#include "rodbook/chance.h"
#include "rodbook/room.h"
#include "rodbook/sure.h"

#include <math.h>
#include <stdlib.h>

#define M ((double)LENGTH_M) /* nm in a metre */
#define LEAST_ERROR 1e-5     /* m: a height that is held has no error, and a fit wants one; nothing on a site is known better */

static length
whole(double m)
{
    return (length)floor(m * M + 0.5);
}

/* ---- verdicts ---- */

static enum setting_verdict
judge(length off, length tolerance, double sigma, double factor)
{
    if (tolerance <= 0)
        return SETTING_NOT_JUDGED;
    struct site_move move = site_move(off, 0, tolerance);
    if (sigma >= 0 && !(factor * sigma < site_decides_below(move, tolerance)))
        return SETTING_UNSURE;
    return move.leave ? SETTING_GOOD : SETTING_OFF;
}

static void
count_verdict(struct setting_row *row, enum setting_verdict verdict)
{
    row->good &= verdict != SETTING_OFF && verdict != SETTING_UNSURE;
}

/* ---- lines ---- */

/* Room for one line through the posts of a row. */
struct drawing {
    double *place, *offset, *error, *room; /* m; [posts], room [2 posts] */
    struct site_lineup_post *post;
    uint32_t *of; /* [posts] into row->post */
    double *chisq, *student;
    size_t n;
};

static void
drawing_release(struct drawing *w)
{
    free(w->place);
    free(w->post);
    free(w->of);
}

static int
drawing_open(struct drawing *w, size_t posts)
{
    *w = (struct drawing){ .place = room_new(7 * (posts + 1), sizeof *w->place), .post = room_new(posts, sizeof *w->post),
        .of = room_new(posts, sizeof *w->of) };
    if (!w->place || !w->post || !w->of) {
        drawing_release(w);
        return -1;
    }
    w->offset = w->place + posts + 1;
    w->error = w->offset + posts + 1;
    w->chisq = w->error + posts + 1;
    w->student = w->chisq + posts + 1;
    w->room = w->student + posts + 1; /* two of them */
    return 0;
}

/* For n posts together: one in 1 / (1 - confidence) clean rows has anybody named. */
static struct site_lineup_limits
limits_of(const struct drawing *w, double confidence)
{
    struct site_lineup_limits l = { .chisq = w->chisq, .student = w->student, .odds = 2 * log(confidence / (1 - confidence)) };
    double each = -expm1(log(confidence) / (double)w->n) / 2;
    (void)chance_normal_at(each, CHANCE_ABOVE, &l.normal);
    for (size_t df = 1; df + 2 < w->n; df++) {
        (void)chance_chisq_at(1 - confidence, CHANCE_ABOVE, df, &w->chisq[df]);
        (void)chance_student_at(each, CHANCE_ABOVE, df, &w->student[df]);
    }
    return l;
}

static void
add_to_drawing(struct drawing *w, const struct setting_row *row, size_t post, length offset, double error)
{
    w->place[w->n] = (double)row->post[post].along / M;
    w->offset[w->n] = (double)offset / M;
    w->error[w->n] = error > LEAST_ERROR ? error : LEAST_ERROR;
    w->of[w->n++] = (uint32_t)post;
}

/* The line, from 3 posts on; what it says of each post stands in w->post. */
static void
draw(struct drawing *w, const struct settings *s, struct setting_line *line)
{
    line->read = w->n;
    if (w->n < 3)
        return;
    struct site_lineup_limits limits = limits_of(w, s->confidence);
    if (site_lineup(w->place, w->offset, w->error, w->n, &limits, w->room, &line->fit, w->post) != SITE_LINEUP_OK)
        return; /* cannot be: places are a millimetre apart or more */
    line->known = true;
    line->from = w->of[0];
    line->to = w->of[w->n - 1];
    line->first = whole(line->fit.at + line->fit.slope * w->place[0]);
    line->last = whole(line->fit.at + line->fit.slope * w->place[w->n - 1]);
    if (w->n > 3)
        return;
    double error, middle = site_lineup_middle(w->place, w->offset, w->error, &error);
    line->middle = whole(middle);
    line->bent = fabs(middle) > s->factor * error;
    line->known = !line->bent; /* a line through all three is nobody's */
    for (int i = 0; i < 3; i++)
        line->three[i] = w->of[i];
}

/* Off the line of the others, where these can be told from those that are off. */
static bool
is_out(const struct drawing *w, const struct setting_line *line, size_t i)
{
    return w->post[i].out && !line->fit.crowded;
}

/* Another that may be off in its stead, into row->post; JOB_NONE. */
static uint32_t
rival_of(const struct drawing *w, size_t i)
{
    return w->post[i].out && w->post[i].rival < w->n ? w->of[w->post[i].rival] : JOB_NONE;
}

static bool
is_beyond(length own, length tolerance)
{
    return tolerance > 0 && (own >= tolerance || -own >= tolerance);
}

/* A rogue: it, and no other, and beyond what the crew allows. */
static bool
is_rogue(bool out, uint32_t rival, length own, length tolerance)
{
    return out && rival == JOB_NONE && is_beyond(own, tolerance);
}

static int
gap_line(const struct settings *s, struct setting_row *row)
{
    struct drawing w;
    struct setting_line *line = &row->line;
    double sigma = (double)row->sigma / M;
    length tolerance = row->set->line;
    if (drawing_open(&w, row->posts) != 0)
        return -1;
    for (size_t i = 0; i < row->posts; i++)
        if (row->post[i].has_gap)
            add_to_drawing(&w, row, i, row->post[i].gap, sigma);
    draw(&w, s, line);
    for (size_t i = 0; i < w.n && line->known; i++) {
        struct setting_post *p = &row->post[w.of[i]];
        p->has_own = true;
        p->own = whole(w.post[i].off);
        p->own_sigma = w.post[i].error;
        p->out = is_out(&w, line, i);
        p->rival = rival_of(&w, i);
        p->rogue = is_rogue(p->out, p->rival, p->own, tolerance);
        row->rogues += p->rogue;
    }
    drawing_release(&w);
    if (!line->known || !row->set->has_gap)
        return 0;
    line->first -= row->set->gap;
    line->last -= row->set->gap;
    double from = (double)row->post[line->from].along / M, to = (double)row->post[line->to].along / M;
    line->first_verdict = judge(line->first, tolerance, site_lineup_error(&line->fit, from), s->factor);
    line->last_verdict = judge(line->last, tolerance, site_lineup_error(&line->fit, to), s->factor);
    return 0;
}

/* ---- one post's face ---- */

static bool
gap_of(const struct record_set_row *row, length *gap)
{
    if (!row || (!row->has_gap && !row->has_two))
        return false;
    *gap = row->has_gap ? row->gap : row->low;
    return true;
}

static void
compare(const struct settings *s, const struct setting_row *row, struct setting_post *p)
{
    length was;
    if (!p->has_gap || !gap_of(p->before, &was))
        return;
    double mine = (double)row->sigma / M, old = row->before->sigma > 0 ? row->before->sigma : mine;
    p->has_change = true;
    p->change = p->gap - was;
    if (row->set->has_gap && row->before->has_gap)
        p->change -= row->set->gap - row->before->gap;
    p->change_sure = fabs((double)p->change / M) > s->factor * hypot(mine, old);
}

static void
face_of(const struct settings *s, const struct setting_row *row, struct setting_post *p)
{
    p->own_sigma = -1;
    p->has_gap = gap_of(p->row, &p->gap);
    if (!p->has_gap)
        return;
    p->touches = p->gap <= 0;
    p->has_off = row->set->has_gap;
    p->off = p->has_off ? p->gap - row->set->gap : 0;
    p->has_high = p->row->has_two && p->has_off;
    p->high_off = p->has_high ? p->row->high - row->set->gap : 0;
    compare(s, row, p);
}

static void
judge_face(const struct settings *s, struct setting_row *row, struct setting_post *p)
{
    if (p->has_off)
        p->line = judge(p->off, row->set->line, (double)row->sigma / M, s->factor);
    else if (p->has_own)
        p->line = judge(p->own, row->set->line, p->own_sigma, s->factor);
    else if (p->has_gap && row->set->line > 0)
        p->line = SETTING_UNSURE;
    count_verdict(row, p->line);
    row->touched |= p->touches;
    row->pushed |= p->touches && (p->gap < 0 || row->set->gap > 0);
    row->good &= !row->pushed && !(p->out && is_beyond(p->own, row->set->line));
}

static void
judge_lean(const struct settings *s, struct setting_row *row, struct setting_lean *lean, double sigma)
{
    length rise = row->set->plumb_rise, over = row->set->plumb_over;
    if (!lean->known)
        return;
    lean->angle = site_lineup_plumb((double)lean->rise, (double)lean->over);
    if (over > 0)
        lean->verdict = judge(length_divide(lean->rise, over, lean->over), rise, sigma * (double)over / (double)lean->over, s->factor);
    count_verdict(row, lean->verdict);
}

static struct setting_lean
lean_by_level(const struct record_lean *lean)
{
    static const enum setting_way ways[] = { SETTING_IN, SETTING_OUT, SETTING_LEFT, SETTING_RIGHT, SETTING_START, SETTING_END,
        SETTING_UNSAID }; /* enum record_lean_way */
    return (struct setting_lean){ .known = lean->over > 0, .rise = lean->rise, .over = lean->over, .way = ways[lean->way] };
}

static void
plumb_of(const struct settings *s, struct setting_row *row, struct setting_post *p)
{
    double sigma = (double)row->sigma / M;
    if (!p->row)
        return;
    p->lean[SETTING_ALONG] = lean_by_level(&p->row->along);
    p->lean[SETTING_ACROSS] = lean_by_level(&p->row->across);
    if (p->row->has_two) {
        length rise = p->row->high - p->row->low;
        p->lean[SETTING_ACROSS] = (struct setting_lean){ .known = true, .rise = rise < 0 ? -rise : rise, .over = p->row->apart,
            .way = setting_way_of(row, rise) };
    }
    judge_lean(s, row, &p->lean[SETTING_ACROSS], p->row->has_two ? sqrt(2) * sigma : sigma);
    judge_lean(s, row, &p->lean[SETTING_ALONG], sigma);
}

/* ---- heights ---- */

/* The grade that posts are held against: one that names posts, else one for every kind; `grades` says how many there are. */
static void
find_grade(const struct job *job, struct setting_row *row)
{
    const uint32_t post = UINT32_C(1) << RECORD_POINT_POST;
    for (int general = 0; general < 2 && row->grades == 0; general++)
        for (size_t g = 0; g < job->grades; g++) {
            uint32_t serves = job->grade[g].from->serves;
            if ((serves == UINT32_MAX) != (general == 1) || !(serves & post))
                continue;
            row->grade = &job->grade[g];
            row->grades++;
        }
    if (row->grades == 0 && job->grades == 1) { /* --grade: for every kind of point */
        row->grade = &job->grade[0];
        row->grades = 1;
    }
    if (row->grades != 1)
        row->grade = NULL;
}

static const struct job_stake *
stake_of(const struct job *job, const struct job_grade *grade, uint32_t spot)
{
    for (size_t i = 0; grade && i < job->stakes; i++)
        if (job->stake[i].spot == spot && &job->grade[job->stake[i].grade_index] == grade)
            return &job->stake[i];
    return NULL;
}

static const enum record_on height_on[SETTING_HEIGHTS] = { RECORD_ON_POST, RECORD_ON_TOP };

static void
hold_to_grade(const struct settings *s, struct setting_row *row, struct setting_height *h, int what)
{
    const struct job_stake *stake = stake_of(s->job, row->grade, h->spot);
    bool top = what == SETTING_TOP;
    if (!h->known || !stake || !stake->has_grade || (top && !row->set->has_reveal))
        return;
    h->has_grade = true;
    h->stake = top ? NULL : stake;
    h->grade = stake->grade + (top ? row->set->reveal : 0);
    h->off = h->elevation - h->grade;
    h->sigma = stake->sigma;
    h->verdict = judge(h->off, row->set->height, h->sigma, s->factor);
    count_verdict(row, h->verdict);
}

/* `newest`: entry of the last reading of each spot, as index + 1. */
static void
height_of(const struct settings *s, struct setting_row *row, struct setting_post *p, int what, const uint32_t *newest)
{
    const struct job *job = s->job;
    struct setting_height *h = &p->height[what];
    h->spot = job->spot_of[(size_t)p->name * RECORD_ON_COUNT + height_on[what]];
    h->sigma = -1;
    h->read = h->spot != JOB_NONE && (job->spot[h->spot].row != JOB_NONE || job->level_spot[h->spot].readings > 0);
    if (!h->read)
        return;
    const struct level_spot *l = &job->level_spot[h->spot];
    h->adrift = l->state == LEVEL_UNKNOWN;
    h->outside = !h->adrift && l->quality == LEVEL_OUTSIDE;
    h->unchecked = !h->adrift && l->quality == LEVEL_UNCHECKED;
    h->known = !h->adrift && !h->outside;
    h->elevation = l->value;
    h->old = row->before && newest[h->spot] > 0 && newest[h->spot] <= row->before->entry;
    uint32_t before = job->spot[h->spot].before;
    h->moved = h->known && before != JOB_NONE && job->level_spot[before].state != LEVEL_UNKNOWN
        && job->level_spot[before].quality != LEVEL_OUTSIDE;
    h->change = h->moved ? l->value - job->level_spot[before].value : 0;
    hold_to_grade(s, row, h, what);
}

/* Errors of their own, m, of the heights in the drawing: u_i + u_j = Var(z_i - z_j), by least squares over all pairs. */
static int
own_errors(const struct settings *s, const struct setting_row *row, const struct adjust *a, struct drawing *w, int what)
{
    const struct job *job = s->job;
    double *difference = room_new(job->spots, sizeof *difference), all = 0;
    double *sum = room_new(w->n, sizeof *sum);
    bool known = true;
    int rc = difference && sum ? 0 : -1;
    for (size_t i = 0; rc == 0 && i < w->n; i++) {
        rc = adjust_difference(a, row->post[w->of[i]].height[what].spot, difference);
        for (size_t j = 0; rc == 0 && j < w->n; j++) {
            double sigma = difference[row->post[w->of[j]].height[what].spot];
            if (j == i)
                continue;
            known &= sigma >= 0;
            sum[i] += sigma * sigma;
        }
        all += rc == 0 ? sum[i] : 0;
    }
    for (size_t i = 0; rc == 0 && known && i < w->n; i++) {
        double u = (sum[i] - all / 2 / (double)(w->n - 1)) / (double)(w->n - 2);
        w->error[i] = u > LEAST_ERROR * LEAST_ERROR ? sqrt(u) : LEAST_ERROR;
    }
    free(difference);
    free(sum);
    return rc;
}

static int
height_line(const struct settings *s, struct setting_row *row, const struct adjust *a, int what)
{
    struct drawing w;
    struct setting_line *line = &row->height[what];
    length tolerance = row->set->height;
    if (drawing_open(&w, row->posts) != 0)
        return -1;
    for (size_t i = 0; i < row->posts; i++)
        if (row->post[i].height[what].known)
            add_to_drawing(&w, row, i, row->post[i].height[what].elevation, s->job->r->job.sigma);
    int rc = a && w.n >= 3 ? own_errors(s, row, a, &w, what) : 0;
    if (rc == 0)
        draw(&w, s, line);
    for (size_t i = 0; rc == 0 && i < w.n && line->known; i++) {
        struct setting_height *h = &row->post[w.of[i]].height[what];
        h->has_own = true;
        h->own = whole(w.post[i].off);
        h->out = is_out(&w, line, i);
        h->rival = rival_of(&w, i);
        h->rogue = is_rogue(h->out, h->rival, h->own, tolerance);
        row->rogues += h->rogue;
        row->good &= !(h->out && is_beyond(h->own, tolerance));
    }
    drawing_release(&w);
    return rc;
}

/* ---- rows ---- */

static int
work_row(const struct settings *s, struct setting_row *row, const struct adjust *a, const uint32_t *newest, struct diag *d)
{
    size_t errors = d->errors;
    const struct record_set *set = row->set;
    double usual = (double)(s->job->r->job.unit == LENGTH_BARE_M ? SETTING_SIGMA_M : SETTING_SIGMA_IN);
    row->sigma_stated = set->sigma > 0;
    row->sigma = (length)(row->sigma_stated ? set->sigma * M + 0.5 : usual);
    row->judged = set->line > 0 || set->height > 0 || set->plumb_over > 0;
    row->good = true;
    find_grade(s->job, row);
    int rc = setting_place(s, row, d);
    if (rc != 0 || d->errors > errors)
        return rc;
    row->good = row->missing == 0;
    for (size_t i = 0; i < row->posts; i++) {
        face_of(s, row, &row->post[i]);
        plumb_of(s, row, &row->post[i]);
        for (int what = 0; what < SETTING_HEIGHTS; what++)
            height_of(s, row, &row->post[i], what, newest);
        row->good &= set->height == 0 || row->post[i].height[SETTING_MARK].has_grade || row->post[i].height[SETTING_TOP].has_grade;
    }
    rc = gap_line(s, row);
    for (int what = 0; rc == 0 && what < SETTING_HEIGHTS; what++)
        rc = height_line(s, row, a, what);
    for (size_t i = 0; rc == 0 && i < row->posts; i++)
        judge_face(s, row, &row->post[i]);
    return rc;
}

/* Rows in the order in which they came up, each with its last entry and the one before. */
static int
find_rows(struct settings *s, const struct record *r)
{
    s->row = room_new(r->sets, sizeof *s->row);
    uint32_t *row_of = room_new(r->names.n, sizeof *row_of); /* index + 1 */
    if (s->row && row_of)
        for (size_t i = 0; i < r->sets; i++) {
            uint32_t *index = &row_of[r->set[i].row];
            if (*index == 0) {
                s->row[s->rows] = (struct setting_row){ .set = NULL };
                *index = (uint32_t)++s->rows;
            }
            struct setting_row *row = &s->row[*index - 1];
            row->before = row->set;
            row->set = &r->set[i];
        }
    free(row_of);
    return s->row && row_of ? 0 : -1;
}

/* Entry of the last reading of each spot, as index + 1; 0: none. */
static uint32_t *
find_newest(const struct job *job)
{
    uint32_t *newest = room_new(job->spots, sizeof *newest);
    for (size_t i = 0; newest && i < job->sights; i++) {
        uint32_t entry = record_row_entry(job->r, job->sight_row[i]) + 1;
        if (entry > newest[job->sight[i].spot])
            newest[job->sight[i].spot] = entry;
    }
    return newest;
}

int
setting_work(struct settings *s, const struct job *job, double confidence, struct diag *d)
{
    struct adjust a;
    struct diag quiet = { 0 };
    *s = (struct settings){ .job = job, .confidence = confidence, .factor = sure_factor(confidence), .good = true };
    if (job->r->sets == 0) {
        diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "no-set",
            "the record has no posts after setting; add them: set: {row: A, %s}]}", job->r->job.unit == LENGTH_BARE_M
                ? "gap: 140 mm, rows: [{at: A1, gap: 142 mm" : "gap: 5-1/2 in, rows: [{at: A1, gap: 5-9/16 in");
        return 0;
    }
    int rc = adjust_open(&a, job, &quiet);
    bool net = rc == 0 && quiet.errors == 0;
    uint32_t *newest = find_newest(job);
    if (rc == 0)
        rc = newest && find_rows(s, job->r) == 0 ? 0 : -1;
    for (size_t i = 0; rc == 0 && i < s->rows; i++) {
        rc = work_row(s, &s->row[i], net ? &a : NULL, newest, d);
        s->good &= s->row[i].good;
    }
    free(newest);
    adjust_release(&a);
    diag_release(&quiet);
    return rc;
}

void
setting_release(struct settings *s)
{
    for (size_t i = 0; s->row && i < s->rows; i++)
        free(s->row[i].post);
    free(s->row);
    *s = (struct settings){ 0 };
}
