/* test_booking.c - laws of the running view, over random sessions
 *
 * A crew of random habits books over invented ground: loops, links and spurs,
 * turning points in one row and in two, marks met midway, marks moved, an
 * inverted rod, three wires, undo at any depth, strikes in the middle. After
 * every line what was answered is held against the record worked out anew;
 * then the same lines are booked again, stopped and started here and there.
 * SESSIONS=5000 in the environment holds more sessions than are quick.
 */
#include "../near.h"

#include "rodbook/append.h"
#include "rodbook/line.h"
#include "rodbook/sheet.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(list) (sizeof(list) / sizeof *(list))

/* ---- chance ---- */

static uint64_t chance_state;

/* Knuth's MMIX generator: TAOCP 2, 3rd ed., 3.3.4, table 1, line 26. */
static unsigned
draw(unsigned below)
{
    chance_state = chance_state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (unsigned)((chance_state >> 33) % below);
}

static bool
one_in(unsigned n)
{
    return draw(n) == 0;
}

/* ---- a session in memory, as the program holds it ---- */

struct crew {
    struct append_text text;
    struct scan_end at;
    struct record r;
    struct job job;
    struct booking b;
    char answer[4096];  /* to the last line */
    bool answered;      /* it was taken */
    struct booking_answer a;
    bool sights;        /* `a` is of it */
};

static void
read_text(const struct append_text *text, struct record *r, struct diag *d)
{
    struct source source = source_of_bytes(text->bytes, text->n);
    assert_int_equal(record_read(r, &source, d), 0);
}

static void
crew_open(struct crew *c, uint32_t run)
{
    static const struct job_options options = { .stakes = true, .grade_optional = true };
    struct diag d = { 0 };
    read_text(&c->text, &c->r, &d);
    if (d.errors > 0)
        fail_msg("the record cannot be read: %s\n%.*s", d.item[0].text, (int)c->text.n, c->text.bytes);
    assert_int_equal(job_work(&c->job, &c->r, &options, &d), 0);
    assert_int_equal(booking_open(&c->b, &c->r, &c->job, run), 0);
    diag_release(&d);
}

static void
crew_close(struct crew *c)
{
    booking_release(&c->b);
    job_release(&c->job);
    record_release(&c->r);
}

static void
crew_reopen(struct crew *c)
{
    uint32_t run = c->b.run;
    bool fresh = c->b.now.run_entry == 0;
    crew_close(c);
    crew_open(c, run);
    if (fresh)
        booking_new_run(&c->b);
}

static void
crew_release(struct crew *c)
{
    crew_close(c);
    append_text_release(&c->text);
}

static void
add_entry(struct crew *c, const char *body, size_t n)
{
    unsigned char digest[DIGEST_BYTES];
    assert_int_equal(append_compose(&c->text, &c->at, body, n, NULL, digest), 0);
}

static void
crew_begin(struct crew *c, const char *const *bodies, size_t n)
{
    memset(c, 0, sizeof *c);
    c->at = append_nowhere();
    for (size_t i = 0; i < n; i++)
        add_entry(c, bodies[i], strlen(bodies[i]));
    crew_open(c, BOOKING_LAST);
}

/* Whether record and entry can stand together: what the program tries before it strikes in the middle. */
static bool
goes_with(const struct crew *c, const char *body, size_t n)
{
    struct append_text text = { 0 };
    struct scan_end at = c->at;
    unsigned char digest[DIGEST_BYTES];
    struct record r = { 0 };
    struct job job = { 0 };
    struct diag d = { 0 };
    assert_true(append_text_add(&text, c->text.bytes, c->text.n));
    assert_int_equal(append_compose(&text, &at, body, n, NULL, digest), 0);
    read_text(&text, &r, &d);
    if (d.errors == 0)
        assert_int_equal(job_work(&job, &r, &(struct job_options){ 0 }, &d), 0);
    bool good = d.errors == 0;
    job_release(&job);
    record_release(&r);
    append_text_release(&text);
    diag_release(&d);
    return good;
}

static void
book_rows(struct crew *c, const struct write_row *rows, size_t n, uint32_t run, bool try_it)
{
    static const struct write_head head = { .date = "2026-05-02", .observer = "RO" };
    char *body = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&body, &size);
    write_levels(out, &head, run);
    for (size_t i = 0; i < n; i++)
        write_row(out, &rows[i]);
    fputs("by: RO\n", out);
    fclose(out);
    c->answered = !try_it || goes_with(c, body, size);
    if (c->answered)
        add_entry(c, body, size);
    free(body);
}

static void
strike(struct crew *c, uint32_t entry, uint32_t row, enum record_sight sight, const char *reason, bool try_it)
{
    char *body = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&body, &size);
    write_strike(out, entry, row, sight, reason);
    fclose(out);
    c->answered = !try_it || goes_with(c, body, size);
    if (c->answered) {
        add_entry(c, body, size);
        crew_reopen(c);
    }
    free(body);
}

static void
say(struct crew *c, const struct write_row *row, const struct diag *d)
{
    FILE *out = fmemopen(c->answer, sizeof c->answer - 1, "w");
    assert_non_null(out);
    memset(c->answer, 0, sizeof c->answer);
    for (size_t i = 0; i < d->n; i++)
        fprintf(out, "! %s [%s]\n", d->item[i].text, d->item[i].check);
    if (c->answered && c->sights)
        sheet_booking_answer(&c->b, row, c->at.entries, &c->a, "site.yaml", out);
    sheet_booking_stand(&c->b, out);
    fclose(out);
}

static void
book_sight(struct crew *c, const struct line *line, struct diag *d)
{
    struct write_row rows[2];
    size_t n = 0;
    enum booking_status s = booking_look(&c->b, &line->row, (struct diag_place){ 1, 1 }, &c->a, rows, &n, d);
    if (s == BOOKING_STALE) {
        crew_reopen(c);
        s = booking_look(&c->b, &line->row, (struct diag_place){ 1, 1 }, &c->a, rows, &n, d);
    }
    assert_true(s == BOOKING_OK || s == BOOKING_REFUSED);
    assert_int_equal(s == BOOKING_REFUSED, d->errors > 0);
    if (s == BOOKING_REFUSED)
        return;
    book_rows(c, rows, n, c->b.next.run_entry, false);
    assert_int_equal(booking_keep(&c->b, c->at.entries), 0);
    c->sights = true;
}

static void
book_for(struct crew *c, const struct line *line)
{
    uint32_t entry = line->row.for_entry;
    crew_reopen(c);
    if (entry == 0 || entry > c->r.entries || c->r.entry[entry - 1].kind != RECORD_LEVELS)
        return;
    book_rows(c, &line->row, 1, c->r.run[c->r.entry[entry - 1].head].entry + 1, true);
    if (c->answered)
        crew_reopen(c);
}

/* One line, as the program takes it. A line that is refused leaves the record as it was. */
static void
crew_line(struct crew *c, const char *text)
{
    struct line line;
    struct diag d = { 0 };
    const struct booking_past *last;
    size_t before = c->text.n;
    c->answered = c->sights = false;
    line.row.for_row = 0;
    line.kind = LINE_NOTHING;
    if (line_read(&line, text, 1, &c->r.job, &d) == 0) {
        bool is_sight = line.kind == LINE_BS || line.kind == LINE_IS || line.kind == LINE_TP || line.kind == LINE_FS;
        if (is_sight && line.row.for_row > 0)
            book_for(c, &line);
        else if (is_sight)
            book_sight(c, &line, &d);
        else if (line.kind == LINE_UNDO && (last = booking_last(&c->b)) != NULL)
            strike(c, last->entry, last->row, last->sight, line.text, false);
        else if (line.kind == LINE_STRIKE)
            strike(c, line.entry, line.number, line.sight, line.text, true);
        else if (line.kind == LINE_RUN)
            booking_new_run(&c->b);
    }
    if (!c->answered)
        assert_int_equal(c->text.n, before);
    say(c, &line.row, &d);
    diag_release(&d);
}

/* ---- invented ground ---- */

struct style {
    const char *unit, *least, *tail;
    length quantum, rod;
    bool dists; /* every sight has its length */
};

static const struct style styles[] = {
    { "ft", "0.01", "rod-length: 13\nallow: {misclosure: 0.02, per: root-setup}\n", 3048000, 13 * LENGTH_FT, false },
    { "ft-in", "1/16 in", "rod-length: 13 ft\nallow: {misclosure: 1/8 in, per: job}\n", 1587500, 13 * LENGTH_FT, false },
    { "m", "0.001", "rod-length: 4\nallow: {misclosure: 12 mm, per: root-km}\nspread: distance\n", LENGTH_MM, 4 * LENGTH_M, true },
    { "m", "5 mm", "", 5 * LENGTH_MM, 30 * LENGTH_M, false },
};

#define MARKS 3
#define TURNS 14
#define SIDES 8
#define POINTS (MARKS + TURNS + SIDES)

struct ground {
    const struct style *style;
    length mark[MARKS]; /* as given */
    length at[POINTS];  /* true */
    char name[POINTS][8];
    length hi;          /* true, of the set-up that is open */
    unsigned at_fault;  /* one reading in so many is a slip; 0: none */
    bool sill;
    char struck[16];    /* the row that a strike named last */
};

/* A length as this crew would call it. */
static const char *
spoken(const struct style *s, length v, char out[64])
{
    const char *sign = v < 0 ? "-" : "";
    int64_t n = (v < 0 ? -v : v) / s->quantum;
    if (s->unit[0] == 'm')
        snprintf(out, 64, "%s%lld.%03lld", sign, (long long)(n * (s->quantum / LENGTH_MM) / 1000), (long long)(n * (s->quantum / LENGTH_MM) % 1000));
    else if (s->unit[2] == '\0')
        snprintf(out, 64, "%s%lld.%02lld", sign, (long long)(n / 100), (long long)(n % 100));
    else if (n % 16 && one_in(2))
        snprintf(out, 64, "%s%lld ft %lld %lld/16 in", sign, (long long)(n / 192), (long long)(n / 16 % 12), (long long)(n % 16));
    else if (n % 16)
        snprintf(out, 64, "%s%lld' %lld-%lld/16\"", sign, (long long)(n / 192), (long long)(n / 16 % 12), (long long)(n % 16));
    else
        snprintf(out, 64, "%s%lld'-%lld\"", sign, (long long)(n / 192), (long long)(n / 16 % 12));
    return out;
}

static void
lay_out(struct ground *g, const struct style *style)
{
    g->style = style;
    for (size_t i = 0; i < POINTS; i++) {
        const char *prefix = i < MARKS ? "BM" : i < MARKS + TURNS ? "T" : "W";
        g->at[i] = (length)(1000 + draw(300)) * style->quantum;
        snprintf(g->name[i], sizeof g->name[i], "%s%zu", prefix, i + 1);
        if (i < MARKS)
            g->mark[i] = g->at[i] + (one_in(4) ? (length)draw(7) * style->quantum : 0);
    }
    g->at_fault = one_in(3) ? 0 : 12 + draw(20);
    g->sill = one_in(4);
}

static void
crew_on(struct crew *c, const struct ground *g)
{
    char job[300], marks[300], grade[300], one[64], two[64], three[64], four[64];
    const struct style *s = g->style;
    snprintf(job, sizeof job, "job: Ground\nunit: %s\nleast: %s\n%s", s->unit, s->least, s->tail);
    snprintf(marks, sizeof marks, "marks:\n  BM1: {elevation: %s}\n  BM2: {elevation: %s}\n  BM3: {elevation: %s}\n",
        spoken(s, g->mark[0], one), spoken(s, g->mark[1], two), spoken(s, g->mark[2], three));
    snprintf(grade, sizeof grade, "grade: {name: string, means: finish, for: [batten, post], level: %s}\n",
        spoken(s, (length)1150 * s->quantum, four));
    const char *const bodies[] = { job, marks, grade, "grade: {name: sill, means: finish, for: [batten, post], through: {at: T4}}\n" };
    crew_begin(c, bodies, g->sill ? 4 : 3); /* a grade through a point that is levelled on the way */
}

/* A reading on a point, seldom a slip, within the rod. */
static length
reading_on(const struct ground *g, size_t point)
{
    length q = g->style->quantum, v = g->hi - g->at[point] + ((length)draw(3) - 1) * q;
    if (g->at_fault && one_in(g->at_fault))
        v += (length)draw(200) * q;
    if (one_in(40))
        v = -(length)draw(300) * q;
    return v > g->style->rod ? g->style->rod / q * q : v;
}

/* One reading, or three wires. */
static void
put_reading(const struct ground *g, length v, FILE *out)
{
    char text[64];
    length half = (length)(1 + draw(40)) * g->style->quantum;
    if (!one_in(12) || v + half > g->style->rod || v - half < 0) {
        fprintf(out, " %s", spoken(g->style, v, text));
        return;
    }
    fprintf(out, " %s", spoken(g->style, v + half, text));
    fprintf(out, " %s", spoken(g->style, v, text));
    fprintf(out, " %s", spoken(g->style, v - half + (length)draw(2) * g->style->quantum, text));
}

/* Forward of the run: points of known elevation, turning points, side points. */
static size_t
some_point(size_t from, size_t n)
{
    return from + draw((unsigned)n);
}

static const char *const ons[] = { "", "", "", "batten ", "batten ", "post ", "ground ", "hole ", "top " };

static void
put_is(const struct ground *g, FILE *out)
{
    size_t p = one_in(12) ? some_point(0, MARKS + TURNS) : some_point(MARKS + TURNS, SIDES);
    fprintf(out, "is %s%s", ons[draw(COUNT(ons))], g->name[p]);
    put_reading(g, reading_on(g, p), out);
    if (one_in(10))
        fprintf(out, " moved");
}

/* The backsight sets the instrument up anew: somewhere above the point. */
static void
put_bs(struct ground *g, size_t p, bool word, FILE *out)
{
    g->hi = g->at[p] + (length)(200 + draw(400)) * g->style->quantum;
    if (word)
        fprintf(out, "bs %s", g->name[p]);
    put_reading(g, g->hi - g->at[p], out);
}

static void
put_dist(const struct ground *g, bool two, FILE *out)
{
    if (!g->style->dists && !one_in(5))
        return;
    fprintf(out, two ? " dist %u m %u m" : " dist %u m", 20 + draw(30), 20 + draw(30));
}

static size_t
point_named(const struct ground *g, const char *name)
{
    for (size_t i = 0; i < POINTS; i++)
        if (strcmp(g->name[i], name) == 0)
            return i;
    return 0;
}

static void
put_strike(const struct crew *c, struct ground *g, FILE *out)
{
    const struct booking_past *p = &c->b.past[draw((unsigned)c->b.pasts)];
    snprintf(g->struck, sizeof g->struck, "%u.%u", p->entry, p->row);
    fprintf(out, "strike %u.%u %swrong rod", p->entry, p->row, one_in(6) ? "bs " : one_in(6) ? "fs " : "");
}

/* A row in the place of the one struck last, whatever that was. */
static void
put_for(struct ground *g, FILE *out)
{
    static const char *const words[] = { "is", "is", "is", "fs", "bs", "tp" };
    const char *word = words[draw(COUNT(words))];
    size_t p = word[0] == 'i' ? some_point(MARKS + TURNS, SIDES) : some_point(0, MARKS + TURNS);
    char one[64];
    fprintf(out, "%s %s %s", word, g->name[p], spoken(g->style, reading_on(g, p), one));
    if (word[0] == 't')
        fprintf(out, " %s", spoken(g->style, (length)(200 + draw(400)) * g->style->quantum, one));
    fprintf(out, " for %s", g->struck);
    if (!one_in(4))
        g->struck[0] = '\0';
}

/* What the crew says next: sensible for the most part. */
static void
next_line(const struct crew *c, struct ground *g, bool strikes, char *text, size_t room)
{
    const struct booking_state *st = &c->b.now;
    const struct booking_wait *w = booking_waits(&c->b);
    FILE *out = fmemopen(text, room, "w");
    unsigned dice = draw(100);
    bool sense = !one_in(25);
    assert_non_null(out);
    if (dice < 9 && c->b.pasts > 0) {
        fputs("undo rod not plumb", out);
    } else if (dice < 12 && strikes && c->b.pasts > 0) {
        put_strike(c, g, out);
    } else if (dice < 16 && g->struck[0]) {
        put_for(g, out);
    } else if (dice < 14 && !w && strikes) {
        fputs("run", out);
    } else if (sense ? !st->open : one_in(2)) {
        bool turned = st->turned && !st->ended && st->setup > 0;
        size_t p = turned && sense ? point_named(g, names_text(&c->r.names, st->turn_at)) : some_point(0, one_in(8) ? POINTS : MARKS);
        put_bs(g, p, true, out);
        put_dist(g, false, out);
    } else if (dice < 60) {
        put_is(g, out);
    } else if (dice < 80) {
        size_t p = one_in(6) ? some_point(0, MARKS) : some_point(MARKS, TURNS);
        fprintf(out, "tp %s", g->name[p]);
        length fs = reading_on(g, p);
        char one[64];
        fprintf(out, " %s", spoken(g->style, fs, one));
        g->hi = g->at[p] + (length)(200 + draw(400)) * g->style->quantum;
        fprintf(out, " %s", spoken(g->style, g->hi - g->at[p], one));
        put_dist(g, true, out);
    } else {
        size_t p = one_in(2) ? some_point(0, MARKS) : some_point(MARKS, TURNS);
        fprintf(out, "fs %s", g->name[p]);
        put_reading(g, reading_on(g, p), out);
        put_dist(g, false, out);
    }
    if (one_in(15))
        fputs(" note seen \"twice\": # not a remark", out);
    fputc('\0', out);
    fclose(out);
}

/* ---- laws ---- */

/* What has to be seen where a law does not hold. */
static void
show(const struct crew *c)
{
    fprintf(stderr, "%.*s\n%s", (int)c->text.n, c->text.bytes, c->answer);
}

/* Equal numbers; else the record and the answer are shown. */
#define assert_law(c, got, want)                                                                                   \
    do {                                                                                                           \
        long long g_ = (long long)(got), w_ = (long long)(want);                                                   \
        if (g_ != w_) {                                                                                            \
            show(c);                                                                                               \
            fail_msg("%s: got %lld, want %lld", #got, g_, w_);                                                     \
        }                                                                                                          \
    } while (0)

struct worked {
    struct record r;
    struct job job;
    struct diag d;
};

static void
work_anew(struct worked *w, const struct crew *c)
{
    static const struct job_options options = { .stakes = true, .grade_optional = true };
    memset(w, 0, sizeof *w);
    read_text(&c->text, &w->r, &w->d);
    assert_int_equal(w->d.errors, 0);
    assert_int_equal(job_work(&w->job, &w->r, &options, &w->d), 0);
}

static void
worked_release(struct worked *w)
{
    job_release(&w->job);
    record_release(&w->r);
    diag_release(&w->d);
}

static bool
was_said(const struct diag *d, const char *check)
{
    for (size_t i = 0; i < d->n; i++)
        if (d->item[i].check && strcmp(d->item[i].check, check) == 0)
            return true;
    return false;
}

static bool
names_spot(const struct worked *w, uint32_t spot, const struct crew *c, uint32_t at, enum record_on on)
{
    return spot != LEVEL_NONE && w->job.spot[spot].on == on
        && strcmp(names_text(&w->r.names, w->job.spot[spot].at), names_text(&c->r.names, at)) == 0;
}

/* The closing says the same of the line as the prompt did. */
static void
assert_closes(const struct worked *w, const struct crew *c)
{
    const struct booking_closure *k = &c->a.closure;
    for (size_t i = 0; i < w->job.work.links; i++) {
        const struct level_link *l = &w->job.work.link[i];
        if (l->kind == LEVEL_SPUR || !names_spot(w, l->from, c, k->from_at, k->from_on) || !names_spot(w, l->to, c, k->to_at, k->to_on)
            || l->misclosure != k->misclosure || l->setups != k->setups || l->dist != k->dist)
            continue;
        assert_law(c, l->within, k->within);
        assert_near(l->allowed_nm, k->allowed_nm, 0);
        return;
    }
    show(c);
    fail_msg("no loop or link like this one");
}

/* The run that is being booked is the last one. */
static void
assert_page_check(const struct worked *w, const struct crew *c)
{
    struct job_book book;
    const struct job_item *item;
    size_t run = w->r.runs - 1, pieces = 0;
    for (size_t l = w->job.run_leg[run]; l < w->job.run_leg[run + 1]; l++)
        if (!w->job.leg[l].known)
            return;
    for (job_book_open(&book, &w->job, (uint32_t)run); (item = job_book_next(&book)) != NULL;) {
        if (item->kind != JOB_PIECE_CHECK)
            continue;
        pieces++;
        assert_true(item->agrees && c->a.agrees);
        assert_law(c, c->a.sums.sum_bs, item->sums.sum_bs);
        assert_law(c, c->a.sums.sum_fs, item->sums.sum_fs);
        assert_law(c, c->a.sums.sum_rise, item->sums.sum_rise);
        assert_law(c, c->a.sums.sum_fall, item->sums.sum_fall);
        assert_law(c, c->a.sums.last - c->a.sums.first, item->sums.last - item->sums.first);
    }
    assert_int_equal(pieces, 1);
}

/* A line that has not closed is carried by the closing as the prompt carries it; one that has, but for its correction. */
static void
assert_elevations(const struct worked *w, const struct crew *c)
{
    const struct booking_answer *a = &c->a;
    size_t run = w->r.runs - 1, last = w->job.run_leg[run + 1] - 1;
    const struct level_leg *leg = &w->job.leg[last];
    assert_law(c, last - w->job.run_leg[run] + 1, a->setup);
    if (a->has_bs) {
        assert_int_equal(leg->count, 1);
        if (a->known && leg->known)
            assert_law(c, a->hi, leg->hi - leg->correction);
        if (!a->has_ahead)
            return;
        leg--;
    }
    const struct level_sight *s = &w->job.sight[leg->first + leg->count - 1];
    if (a->ahead_known && leg->known)
        assert_law(c, a->elevation, leg->hi - leg->correction - s->reading);
}

/* The move that is told at the rod is the one that the stakes ask for while nothing corrects it. */
static size_t
assert_moves(const struct worked *w, const struct crew *c)
{
    const struct booking_answer *a = &c->a;
    size_t seen = 0;
    if (!a->has_ahead || a->has_bs || a->moves == 0)
        return 0;
    const struct level_leg *leg = &w->job.leg[w->job.run_leg[w->r.runs] - 1];
    uint32_t spot = w->job.sight[leg->first + leg->count - 1].spot;
    for (size_t i = 0; i < w->job.stakes; i++) {
        const struct job_stake *k = &w->job.stake[i];
        if (k->spot != spot || k->grade_index != a->move[0].grade || k->readings != 1 || !k->has_adjusted || k->adjusted != a->elevation || leg->correction != 0)
            continue;
        assert_law(c, a->move[0].move.move, k->move.move);
        assert_int_equal(a->move[0].move.leave, k->move.leave);
        assert_true(k->has_rod);
        assert_law(c, a->move[0].grade_rod, k->grade_rod);
        seen++;
    }
    return seen;
}

/* What has been seen over all sessions, so that no law is held for want of a case. */
static struct {
    size_t lines, sights, closures, inner, links, waits, elevations, moves, stops, refused, replaced, went_on, broken, elsewhere, named;
} seen;

/* The line touches a spot that some other line carries without closing: there the closing goes by its own rules. */
static bool
leans_on_unchecked(const struct crew *c, const char *text)
{
    struct crew now = { .text = c->text, .at = c->at }; /* as it is known now */
    struct line line;
    struct diag d = { 0 };
    bool leans = false;
    crew_open(&now, c->b.run);
    if (line_read(&line, text, 1, &c->r.job, &d) == 0 && line.kind != LINE_IS && line.row.at[0]) {
        uint32_t at = names_find(&now.r.names, line.row.at, strlen(line.row.at));
        size_t i = (size_t)at * RECORD_ON_COUNT + line.row.on;
        if (at != TEXT_NONE && i < now.b.spot_room) {
            const struct booking_spot *s = &now.b.spot[i];
            const struct booking_state *st = &now.b.now;
            bool on_path = s->line == st->line.id && s->line > 0 && s->setups <= st->line.setups && now.b.path[s->setups] == i;
            leans = s->state == BOOKING_READ && !on_path && !(st->turned && st->turn_at == at);
        }
    }
    diag_release(&d);
    crew_close(&now);
    return leans;
}

struct session {
    char line[60][400];
    char answer[60][4096];
    size_t lines;
};

/*
 * A line that waited for a later one is closed when all have been walked: the
 * closing may then cut the line at hand at another point than was known at
 * the rod. docs/method.md, "Lines, loops, links, spurs", 4.
 */
static bool
is_cut_elsewhere(const struct worked *w, const struct crew *c)
{
    const struct booking_closure *k = &c->a.closure;
    const struct level_leg *leg = &w->job.leg[w->job.run_leg[w->r.runs] - 1 - c->a.has_bs];
    if (!c->a.has_ahead || !leg->known)
        return false;
    const struct level_link *link = &w->job.work.link[leg->link];
    if (!k->closes) /* a side shot on a mark closes the line for as long as it is the last */
        return link->kind != LEVEL_SPUR && !names_spot(w, link->from, c, c->b.now.line.from_at, c->b.now.line.from_on);
    return !names_spot(w, link->from, c, k->from_at, k->from_on);
}

/* Laws that hold after each line. `torn`: struck in the middle, or left unfinished; `leans`: on what is unchecked. */
static void
assert_laws(const struct crew *c, bool torn, bool leans)
{
    struct worked w;
    work_anew(&w, c);
    const struct booking_wait *wait = booking_waits(&c->b);
    bool broken = was_said(&w.d, "broken-run"), waits = wait && (!wait->bs || c->b.now.setup == 0);
    for (size_t i = 0; i < w.d.n; i++)
        if (w.d.item[i].level == DIAG_ERROR && strcmp(w.d.item[i].check, "no-benchmark") != 0
            && strcmp(w.d.item[i].check, "no-distance") != 0 && strcmp(w.d.item[i].check, "grade-mark") != 0) {
            show(c);
            fail_msg("%s [%s]", w.d.item[i].text, w.d.item[i].check);
        }
    if (!torn)
        assert_law(c, broken, waits);
    seen.broken += broken;
    bool elsewhere = c->sights && !leans && !broken && is_cut_elsewhere(&w, c);
    seen.elsewhere += elsewhere;
    if (c->sights && !broken && !leans && !elsewhere) {
        assert_elevations(&w, c);
        assert_page_check(&w, c);
        seen.elevations++;
        seen.moves += assert_moves(&w, c);
        if (c->a.closure.closes && c->a.closure.judged_line)
            assert_closes(&w, c);
    }
    worked_release(&w);
}

static void
count(const struct crew *c, const char *text)
{
    seen.lines++;
    seen.refused += !c->answered;
    seen.named += c->answered && !c->sights && strstr(text, " for ") != NULL;
    seen.sights += c->sights;
    seen.waits += booking_waits(&c->b) != NULL;
    if (!c->sights)
        return;
    seen.closures += c->a.closure.closes && !c->a.closure.inner;
    seen.links += c->a.closure.closes && c->a.closure.judged_line && c->a.closure.from_at != c->a.closure.to_at;
    seen.inner += c->a.closure.inner;
    seen.replaced += c->a.stands_for[0][0] > 0 || c->a.stands_for[1][0] > 0;
    seen.went_on += c->a.went_on;
}

static void
book_session(struct crew *c, struct ground *g, struct session *s, size_t lines, bool strikes)
{
    bool torn = false, leans = false;
    for (s->lines = 0; s->lines < lines; s->lines++) {
        char *text = s->line[s->lines];
        next_line(c, g, strikes, text, sizeof s->line[0]);
        torn |= strncmp(text, "strike", 6) == 0 || strstr(text, " for ") || (strncmp(text, "run", 3) == 0 && booking_waits(&c->b));
        leans |= leans_on_unchecked(c, text);
        crew_line(c, text);
        count(c, text);
        assert_laws(c, torn, leans);
        snprintf(s->answer[s->lines], sizeof s->answer[0], "%s", c->answer);
    }
}

/* The same lines, stopped and started again wherever chance has it. */
static void
stop_and_go(const struct ground *g, const struct session *s, const struct append_text *whole)
{
    struct crew c;
    crew_on(&c, g);
    bool fresh = false; /* a line `run` is no matter of the record until a backsight follows */
    for (size_t i = 0; i < s->lines; i++) {
        if (!fresh && one_in(3)) {
            crew_close(&c);
            crew_open(&c, BOOKING_LAST);
            seen.stops++;
        }
        crew_line(&c, s->line[i]);
        if (strcmp(c.answer, s->answer[i]) != 0) {
            show(&c);
            fail_msg("so is line %zu, %s, answered; without stopping\n%s", i, s->line[i], s->answer[i]);
        }
        fresh = c.b.now.run_entry == 0 && c.b.run > 0;
    }
    assert_int_equal(c.text.n, whole->n);
    assert_memory_equal(c.text.bytes, whole->bytes, whole->n);
    crew_release(&c);
}

static void
hold_sessions(uint64_t seed, size_t n, bool strikes)
{
    static struct session s;
    for (size_t i = 0; i < n; i++) {
        struct crew c;
        struct ground g;
        chance_state = seed + i * UINT64_C(0x9e3779b97f4a7c15);
        lay_out(&g, &styles[i % COUNT(styles)]);
        uint64_t here = chance_state;
        crew_on(&c, &g);
        book_session(&c, &g, &s, 10 + draw(45), strikes);
        chance_state = here;
        stop_and_go(&g, &s, &c.text);
        crew_release(&c);
    }
}

static size_t
sessions(void)
{
    const char *more = getenv("SESSIONS");
    return more ? strtoul(more, NULL, 10) : 400;
}

static void
tell_seen(void)
{
    printf("lines %zu sights %zu closures %zu inner %zu links %zu waits %zu elevations %zu moves %zu stops %zu refused %zu replaced %zu "
           "went on %zu broken %zu cut elsewhere %zu named %zu\n", seen.lines, seen.sights, seen.closures, seen.inner, seen.links, seen.waits,
        seen.elevations, seen.moves, seen.stops, seen.refused, seen.replaced, seen.went_on, seen.broken, seen.elsewhere, seen.named);
}

static void
undo_at_any_depth_and_stopping_change_nothing(void **state)
{
    (void)state;
    memset(&seen, 0, sizeof seen);
    hold_sessions(UINT64_C(20260502), sessions(), false);
    tell_seen();
    assert_true(seen.closures > 1000 && seen.inner > 100 && seen.links > 500 && seen.waits > 500 && seen.elevations > 5000);
    assert_true(seen.moves > 500 && seen.stops > 3000 && seen.refused > 150 && seen.replaced > 400 && seen.went_on > 100);
    assert_true(seen.elsewhere * 500 < seen.closures); /* seldom enough that nothing hides behind it */
}

static void
strikes_in_the_middle_and_new_runs_too(void **state)
{
    (void)state;
    memset(&seen, 0, sizeof seen);
    hold_sessions(UINT64_C(20260605), sessions(), true);
    tell_seen();
    assert_true(seen.closures > 1000 && seen.broken > 1000 && seen.elevations > 3000 && seen.stops > 3000 && seen.named > 10);
    assert_true(seen.elsewhere * 500 < seen.closures);
}

/* ---- one by one ---- */

static void
crew_in_feet(struct crew *c)
{
    crew_begin(c, (const char *const[]){ "job: Lamb field\nunit: ft\nleast: 0.01\nrod-length: 13\nallow: {misclosure: 0.02, per: root-setup}\n",
                      "marks:\n  BM1: {elevation: 100.000}\n  BM2: {elevation: 101.240}\n",
                      "grade: {name: string, means: finish, level: 101.50}\n" }, 3);
}

/* Lines, all but the last taken; what the last is answered holds `want`. */
static void
assert_answer(struct crew *c, const char *const *lines, const char *want)
{
    for (; *lines; lines++) {
        if (strcmp(*lines, "STOP") == 0) {
            crew_close(c);
            crew_open(c, BOOKING_LAST);
            continue;
        }
        crew_line(c, *lines);
        if (lines[1] && !c->answered && strcmp(*lines, "run") != 0)
            fail_msg("%s: %s", *lines, c->answer);
    }
    if (!strstr(c->answer, want))
        fail_msg("\"%s\" is not said in:\n%s", want, c->answer);
}

#define ANSWER(c, want, ...) assert_answer((c), (const char *const[]){ __VA_ARGS__, NULL }, (want))

static void
assert_whole(const struct crew *c)
{
    struct worked w;
    work_anew(&w, c);
    for (size_t i = 0; i < w.d.n; i++)
        fail_msg("%s", w.d.item[i].text);
    worked_release(&w);
}

static void
two_turning_points_undone_leave_no_break(void **state)
{
    struct crew c;
    (void)state;
    crew_in_feet(&c);
    ANSWER(&c, "row 5.1 is struck, and waits", "bs BM1 4.62", "tp TP1 5.87 4.15", "tp TP2 3.02 3.71", "fs BM1 4.48", "undo a", "undo b", "undo c");
    ANSWER(&c, "in the place of the struck row 5.1", "tp TP3 5.11 4.02");
    ANSWER(&c, "in the place of the struck foresight 6.1: set-up 4.2 goes on", "is batten W1 3.17");
    ANSWER(&c, "loop BM1 to BM1, 2 set-ups: misclosure +0.0100 ft", "fs BM1 3.52");
    assert_whole(&c);
    crew_release(&c);
}

/* Undone after a stop, the foresight that closed the loop gives the line back with its own start. */
static void
a_loop_that_was_closed_is_opened_again(void **state)
{
    struct crew c;
    (void)state;
    crew_in_feet(&c);
    ANSWER(&c, "set-up 4.2 goes on", "bs BM1 4.62", "tp TP1 5.87 4.15", "fs BM1 2.91", "STOP", "undo rod not plumb", "is W1 3.00");
    ANSWER(&c, "loop BM1 to BM1, 2 set-ups: misclosure -0.0100 ft, allowed 0.0283 ft", "fs BM1 2.91");
    assert_whole(&c);
    crew_release(&c);
}

/* The turning point was the way home: its backsight is not wanted any more, and the next run begins where it likes. */
static void
a_turning_point_becomes_the_closing_foresight(void **state)
{
    struct crew c;
    (void)state;
    crew_in_feet(&c);
    ANSWER(&c, "loop BM1 to BM1, 1 set-up", "bs BM1 4.62", "tp TP1 4.63 4.15", "undo wrong name", "fs BM1 4.63");
    assert_whole(&c);
    ANSWER(&c, "set-up 8.1 is open", "bs BM2 3.36");
    assert_whole(&c);
    crew_release(&c);
}

/* Struck as moved, the turning point has moved; the batten booked in its place has not. */
static void
another_point_in_its_place_is_not_moved(void **state)
{
    struct crew c;
    struct worked w;
    (void)state;
    crew_in_feet(&c);
    ANSWER(&c, "set-up 4.1 goes on", "bs BM1 4.62", "is W1 3.30", "fs TP1 5.87 moved", "undo wrong", "is W1 3.30");
    work_anew(&w, &c);
    uint32_t spot = w.job.spot_of[(size_t)names_find(&w.r.names, "W1", 2) * RECORD_ON_COUNT];
    assert_int_equal(w.job.spot[spot].position, 1);
    assert_int_equal(w.job.level_spot[spot].readings, 2);
    worked_release(&w);
    crew_release(&c);
}

/* Undone and booked again on the same thing, an intermediate sight stands for the struck one; on another it does not. */
static void
a_sight_that_is_read_again_stands_for_the_struck_one(void **state)
{
    struct crew c;
    (void)state;
    crew_in_feet(&c);
    ANSWER(&c, "in the place of the struck row 6.1\n", "bs BM1 4.62", "is batten SW1 3.14", "is batten SW2 4.11", "undo a foot", "is batten SW2 3.11");
    crew_release(&c);
    crew_in_feet(&c);
    ANSWER(&c, "in the place of the struck row 6.1\n", "bs BM1 4.62", "is batten SW1 3.14", "is batten SW2 4.11", "undo a foot", "STOP",
        "is batten SW2 3.11");
    crew_release(&c);
    crew_in_feet(&c);
    ANSWER(&c, "SE1 batten", "bs BM1 4.62", "is batten SW2 4.11", "undo a foot", "is batten SE1 3.11");
    assert_int_equal(c.a.stands_for[0][0], 0);
    crew_release(&c);
    crew_in_feet(&c); /* struck from another set-up, it was not read from that one */
    ANSWER(&c, "SW2 batten  IS 3.11  elevation 99.79", "bs BM1 4.62", "is batten SW2 4.11", "tp TP1 5.87 4.15", "strike 5.1 a foot",
        "is batten SW2 3.11");
    assert_int_equal(c.a.stands_for[0][0], 0);
    struct worked w;
    work_anew(&w, &c);
    const struct job_spot *spot = NULL;
    for (size_t i = 0; i < w.job.spots; i++)
        if (strcmp(names_text(&w.r.names, w.job.spot[i].at), "SW2") == 0)
            spot = &w.job.spot[i];
    assert_non_null(spot);
    assert_same(w.job.level_spot[spot - w.job.spot].value, 9979 * INT64_C(3048000));
    worked_release(&w);
    crew_release(&c);
}

static void
a_loop_out_by_a_round_figure_says_so(void **state)
{
    struct crew c;
    (void)state;
    crew_in_feet(&c);
    ANSWER(&c, "OUTSIDE, just about 1 ft: look at the foot figure", "bs BM1 4.62", "tp TP1 5.87 4.15", "fs BM1 3.90");
    crew_release(&c);
}

static void
an_inner_loop_takes_its_points_off_the_line(void **state)
{
    struct crew c;
    (void)state;
    crew_in_feet(&c);
    ANSWER(&c, "inner loop A to A, 3 set-ups: misclosure +0.0200 ft", "bs BM1 4.62", "tp A 4.11 4.20", "tp B 3.92 4.40", "tp C 4.31 4.04",
        "tp A 4.39 4.77");
    ANSWER(&c, "? C lies 0.05 higher", "tp C 4.35 4.12"); /* it is read again, and closes nothing */
    assert_false(c.a.closure.closes);
    crew_release(&c);
}

/* A run that hangs on nothing yet is no matter of the grades. */
static void
moves_are_told_beside_a_run_without_a_mark(void **state)
{
    struct crew c;
    (void)state;
    crew_in_feet(&c);
    ANSWER(&c, "above the first point 1.11\n", "bs PEG 4.62", "is W1 3.51");
    ANSWER(&c, "string: up 3-3/8 in, grade rod 3.12", "run", "bs BM1 4.62", "is batten W1 3.40");
    ANSWER(&c, "string: up 3-3/8 in, grade rod 3.12", "STOP", "is batten W1 3.40");
    crew_release(&c);
}

static void
a_backsight_on_a_moved_mark_is_not_known(void **state)
{
    struct crew c;
    (void)state;
    crew_in_feet(&c);
    ANSWER(&c, "HI above the first point 4.62", "bs BM1 4.62 moved");
    crew_release(&c);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(undo_at_any_depth_and_stopping_change_nothing),
        cmocka_unit_test(strikes_in_the_middle_and_new_runs_too),
        cmocka_unit_test(two_turning_points_undone_leave_no_break),
        cmocka_unit_test(a_loop_that_was_closed_is_opened_again),
        cmocka_unit_test(a_turning_point_becomes_the_closing_foresight),
        cmocka_unit_test(another_point_in_its_place_is_not_moved),
        cmocka_unit_test(a_sight_that_is_read_again_stands_for_the_struck_one),
        cmocka_unit_test(a_loop_out_by_a_round_figure_says_so),
        cmocka_unit_test(an_inner_loop_takes_its_points_off_the_line),
        cmocka_unit_test(moves_are_told_beside_a_run_without_a_mark),
        cmocka_unit_test(a_backsight_on_a_moved_mark_is_not_known),
    };
    return cmocka_run_group_tests_name("booking", tests, NULL, NULL);
}
