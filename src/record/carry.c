/* carry.c - entries written by hand, as they will stand under their digests */
#include "rodbook/carry.h"

#include <inttypes.h>
#include <string.h>

#define refuse(d, line, check, ...) diag_say((d), DIAG_ERROR, (struct diag_place){ (line), 1 }, (check), __VA_ARGS__)

/* ---- lines ---- */

struct line {
    const char *text;
    size_t n;    /* without its end */
    size_t next; /* offset of the line behind it */
};

static struct line
line_at(const char *bytes, size_t n, size_t at)
{
    const char *lf = memchr(bytes + at, '\n', n - at), *stop = lf ? lf : bytes + n;
    size_t next = (size_t)(stop - bytes) + (lf != NULL);
    bool cr = stop > bytes + at && stop[-1] == '\r';
    return (struct line){ bytes + at, (size_t)(stop - (bytes + at)) - cr, next };
}

/* Nothing, or a comment. */
static bool
is_blank(struct line line)
{
    size_t i = 0;
    while (i < line.n && (line.text[i] == ' ' || line.text[i] == '\t'))
        i++;
    return i == line.n || line.text[i] == '#';
}

/* A word alone on its line, or before a blank. */
static bool
is_indicator(struct line line, const char *word)
{
    return line.n >= 3 && memcmp(line.text, word, 3) == 0 && (line.n == 3 || line.text[3] == ' ' || line.text[3] == '\t');
}

/* ---- what cannot be carried ---- */

/* The entry's first line with words: a number is to stand above it. */
static void
check_first(struct line line, uint32_t number, struct diag *d)
{
    if (line.text[0] == '{')
        refuse(d, number, "carry", "a number cannot be put above an entry in braces; write its keys without them, each on a line of its own");
    else if (line.text[0] == ' ' || line.text[0] == '\t')
        refuse(d, number, "carry", "a number cannot be put above keys that are indented; begin the keys of an entry at the line's start");
}

static void
check_entry(const struct scan_entry *e, const char *from, size_t end, struct diag *d)
{
    uint32_t number = e->line;
    bool words = false;
    if (e->state == SCAN_TORN) {
        refuse(d, number, "carry", "this entry is empty, or begins with a number and has no digest; take it out, or write it without the number");
        return;
    }
    for (size_t at = e->start; at < end; number++) {
        struct line line = line_at(from, end, at);
        bool start = at == e->start && is_indicator(line, "---");
        at = line.next;
        if (start && !is_blank((struct line){ line.text + 3, line.n - 3, 0 }))
            refuse(d, number, "carry", "words stand behind ---; write them on a line of their own below it");
        if (is_indicator(line, "..."))
            refuse(d, number, "carry", "a digest cannot stand below ...; take this line out, the next --- ends the entry");
        if (start || words || is_blank(line))
            continue;
        words = true;
        check_first(line, number, d);
    }
}

/* What stands above the first entry is no part of any, and is looked at by nobody else. */
static void
check_above(const char *from, size_t end, struct diag *d)
{
    uint32_t number = 1;
    for (size_t at = 0; at < end; number++) {
        struct line line = line_at(from, end, at);
        const char *bad = text_fault(line.text, line.n);
        if (bad)
            refuse(d, number, "bytes", "%s; %s", text_fault_name(bad), text_fault_advice(bad));
        at = line.next;
    }
}

static void
check_entries(const struct scan *scan, const char *from, size_t n, struct diag *d)
{
    if (scan->chain.digests > 0) {
        refuse(d, scan->entry[scan->chain.last - 1].line, "sealed",
            "this entry has a digest already: the record is sealed, and what is sealed is copied as a file or not at all");
        return;
    }
    if (scan->n == 0) {
        refuse(d, 1, "carry", "no entry stands in it; an entry begins with a line ---");
        return;
    }
    check_above(from, scan->entry[0].start, d);
    for (size_t i = 0; i < scan->n; i++)
        check_entry(&scan->entry[i], from, i + 1 < scan->n ? scan->entry[i + 1].start : n, d);
}

/* ---- composing ---- */

static const char start_line[] = "---\n";

static bool
add(struct append_text *t, const char *bytes, size_t n)
{
    return append_text_add(t, bytes, n);
}

/* The first entry may stand without its --- line; any other begins with one. */
static int
compose_entry(struct carry *c, const char *from, size_t begin, size_t start, size_t end)
{
    struct append_text head = { 0 };
    struct line first = line_at(from, end, start);
    bool whole = is_indicator(first, "---");
    size_t body = whole ? first.next : start;
    bool room = add(&head, from + begin, body - begin) && (whole || add(&head, start_line, sizeof start_line - 1));
    int rc = room ? append_compose_as(&c->text, &c->at, head.bytes, head.n, from + body, end - body, c->digest) : -1;
    append_text_release(&head);
    return rc;
}

static int
compose_plain(struct carry *c, const char *above, size_t above_n, const struct scan_end *at, const struct scan *scan,
    const char *from, size_t n)
{
    size_t start = scan->entry[0].start;
    bool wanting = !is_indicator(line_at(from, n, start), "---");
    c->lines_above = at->lines;
    c->start_line = wanting ? scan->entry[0].line : 0;
    const char *mend = at->digest_cut ? " \n" : at->ended ? "" : "\n"; /* as whoever appends will end it */
    bool room = add(&c->plain, above, above_n) && add(&c->plain, mend, strlen(mend)) && add(&c->plain, from, start)
        && (!wanting || add(&c->plain, start_line, sizeof start_line - 1)) && add(&c->plain, from + start, n - start);
    return room ? 0 : -1;
}

int
carry_compose(struct carry *c, const char *above, size_t above_n, const struct scan_end *at, const char *from, size_t n,
    struct diag *d)
{
    struct source source = source_of_bytes(from, n);
    struct diag unsaid = { 0 }; /* c->plain is read by whoever asked, and says it all */
    struct scan scan;
    size_t errors = d->errors;
    *c = (struct carry){ .at = *at, .first = at->entries + 1 };
    int rc = scan_read(&scan, &source, false, &unsaid);
    if (rc == 0)
        check_entries(&scan, from, n, d);
    if (rc == 0 && scan.n > 0)
        rc = compose_plain(c, above, above_n, at, &scan, from, n);
    for (size_t i = 0; i < scan.n && rc == 0 && d->errors == errors; i++)
        rc = compose_entry(c, from, i > 0 ? scan.entry[i].start : 0, scan.entry[i].start,
            i + 1 < scan.n ? scan.entry[i + 1].start : n);
    if (unsaid.no_memory)
        rc = -1;
    scan_release(&scan);
    diag_release(&unsaid);
    return rc;
}

void
carry_release(struct carry *c)
{
    append_text_release(&c->plain);
    append_text_release(&c->text);
    *c = (struct carry){ 0 };
}

struct diag_place
carry_place(const struct carry *c, struct diag_place place)
{
    if (place.line <= c->lines_above)
        return (struct diag_place){ 0, 0 };
    place.line -= c->lines_above;
    if (c->start_line > 0 && place.line > c->start_line)
        place.line--;
    return place;
}

/* ---- holding against ---- */

static bool
same_names(const struct names *a, const struct names *b)
{
    bool same = a->n == b->n;
    for (uint32_t i = 0; i < a->n && same; i++)
        same = strcmp(names_text(a, i), names_text(b, i)) == 0;
    return same;
}

static bool
same_job(const struct record_job *a, const struct record_job *b)
{
    return a->name == b->name && a->place == b->place && a->unit == b->unit && a->least == b->least
        && a->rod_length == b->rod_length && a->allow_nm == b->allow_nm && a->allow_per == b->allow_per
        && a->spread == b->spread && a->sigma == b->sigma && a->sigma_km == b->sigma_km;
}

/* Members of arrays: each pair without its places. */

static bool
same_entry(const void *one, const void *other)
{
    const struct record_entry *a = one, *b = other;
    return a->kind == b->kind && a->by == b->by && a->time == b->time && a->rows == b->rows && a->first == b->first
        && a->head == b->head;
}

static bool
same_mark(const void *one, const void *other)
{
    const struct record_mark *a = one, *b = other;
    return a->name == b->name && a->elevation == b->elevation && a->sigma == b->sigma && a->entry == b->entry;
}

static bool
same_point(const void *one, const void *other)
{
    const struct record_point *a = one, *b = other;
    return a->name == b->name && a->x == b->x && a->y == b->y && a->placed == b->placed && a->kind == b->kind
        && a->entry == b->entry;
}

static bool
same_stand(const void *one, const void *other)
{
    const struct record_stand *a = one, *b = other;
    return a->name == b->name && a->x == b->x && a->y == b->y && a->entry == b->entry;
}

static bool
same_slope(const struct record_slope *a, const struct record_slope *b)
{
    return a->given == b->given
        && (!a->given || (a->rise == b->rise && a->run == b->run && a->towards == b->towards && a->point == b->point));
}

static bool
same_grade(const void *one, const void *other)
{
    const struct record_grade *a = one, *b = other;
    bool same = a->through == b->through;
    for (uint32_t i = 0; i < a->through && i < 3 && same; i++)
        same = a->at[i].at == b->at[i].at && a->at[i].on == b->at[i].on && a->at[i].plus == b->at[i].plus;
    return same && a->name == b->name && a->subgrade == b->subgrade && a->serves == b->serves && a->level == b->level
        && same_slope(&a->slope, &b->slope) && a->tolerance == b->tolerance && a->has_tolerance == b->has_tolerance
        && a->entry == b->entry;
}

static bool
same_row(const void *one, const void *other)
{
    const struct record_row *a = one, *b = other;
    return a->bs == b->bs && a->ahead == b->ahead && a->at == b->at && a->more == b->more && a->on == b->on
        && a->flags == b->flags;
}

static bool
same_dist(const void *one, const void *other)
{
    const struct record_dist *a = one, *b = other;
    return a->ahead == b->ahead && a->bs == b->bs;
}

static bool
same_extra(const void *one, const void *other)
{
    const struct record_extra *a = one, *b = other;
    return same_dist(&a->dist, &b->dist) && memcmp(a->wire_ahead, b->wire_ahead, sizeof a->wire_ahead) == 0
        && memcmp(a->wire_bs, b->wire_bs, sizeof a->wire_bs) == 0 && a->wires == b->wires && a->page == b->page
        && a->note == b->note && a->strike_ahead == b->strike_ahead && a->strike_bs == b->strike_bs
        && a->for_entry == b->for_entry && a->for_row == b->for_row && a->base == b->base && a->replaced == b->replaced;
}

static bool
same_section(const void *one, const void *other)
{
    const struct record_section *a = one, *b = other;
    return a->from == b->from && a->to == b->to && a->rise == b->rise && a->dist == b->dist && a->setups == b->setups
        && a->sigma == b->sigma && a->note == b->note && a->entry == b->entry && a->number == b->number
        && a->strike == b->strike;
}

/* Figures are read from the same digits, so they agree to the bit or not at all; none is a NaN. */
static bool
same_figure(double a, double b)
{
    return a == b;
}

static bool
same_tape(const void *one, const void *other)
{
    const struct record_tape *a = one, *b = other;
    return a->entry == b->entry && a->continues == b->continues && a->head == b->head && a->date == b->date && a->tape == b->tape
        && a->crew == b->crew && a->note == b->note && same_figure(a->sigma, b->sigma) && a->tolerance == b->tolerance
        && memcmp(a->corner, b->corner, sizeof a->corner) == 0 && a->has == b->has && a->nominal == b->nominal
        && a->actual == b->actual && a->weighed == b->weighed && same_figure(a->temp, b->temp) && same_figure(a->pull, b->pull)
        && same_figure(a->weight, b->weight) && same_figure(a->area, b->area) && same_figure(a->modulus, b->modulus)
        && same_figure(a->expansion, b->expansion);
}

static bool
same_taped(const void *one, const void *other)
{
    const struct record_taped *a = one, *b = other;
    return a->from == b->from && a->to == b->to && a->read == b->read && a->has == b->has && same_figure(a->temp, b->temp)
        && same_figure(a->pull, b->pull) && a->rise == b->rise && same_figure(a->slope, b->slope) && a->first == b->first
        && a->spans == b->spans && a->note == b->note && a->strike == b->strike && a->tape == b->tape && a->number == b->number;
}

static bool
same_strike(const void *one, const void *other)
{
    const struct record_strike *a = one, *b = other;
    return a->target_entry == b->target_entry && a->target_row == b->target_row && a->sight == b->sight
        && a->reason == b->reason && a->entry == b->entry;
}

static bool
same_hole(const void *one, const void *other)
{
    const struct record_hole *a = one, *b = other;
    return a->post == b->post && a->depth == b->depth && a->from == b->from && a->to == b->to && a->footing == b->footing
        && a->diameter == b->diameter && a->post_length == b->post_length && a->top == b->top && a->grade == b->grade
        && a->source == b->source && a->entry == b->entry;
}

static bool
same_concrete(const void *one, const void *other)
{
    const struct record_concrete *a = one, *b = other;
    return a->post_along == b->post_along && a->post_across == b->post_across && a->post_round == b->post_round
        && a->bell_diameter == b->bell_diameter && a->bell_height == b->bell_height && a->collar_diameter == b->collar_diameter
        && a->collar_height == b->collar_height && a->fill == b->fill && a->fill_by == b->fill_by && a->footing == b->footing
        && a->waste == b->waste && a->bag_yield == b->bag_yield && a->bag_mass == b->bag_mass && a->step == b->step
        && a->bulking == b->bulking && a->slump == b->slump && a->entry == b->entry;
}

static bool
same_run(const void *one, const void *other)
{
    const struct record_run *a = one, *b = other;
    return a->entry == b->entry && a->first_row == b->first_row && a->last_row == b->last_row && a->sections == b->sections
        && a->date == b->date && a->instrument == b->instrument && a->observer == b->observer && a->rodman == b->rodman
        && a->weather == b->weather && a->note == b->note;
}

static bool
same_continuation(const void *one, const void *other)
{
    const struct record_continuation *a = one, *b = other;
    return a->entry == b->entry && a->target == b->target;
}

static bool
same_site(const void *one, const void *other)
{
    const struct record_site *a = one, *b = other;
    return a->along == b->along && a->across == b->across && a->post_along == b->post_along && a->post_across == b->post_across
        && a->nailed == b->nailed && a->string == b->string && a->set_back == b->set_back
        && memcmp(a->corner, b->corner, sizeof a->corner) == 0 && a->first_row == b->first_row && a->rows == b->rows
        && a->first_door == b->first_door && a->doors == b->doors && a->has_string == b->has_string
        && a->has_set_back == b->has_set_back && a->has_corners == b->has_corners && a->has_north == b->has_north
        && a->north == b->north && a->entry == b->entry;
}

static bool
same_site_row(const void *one, const void *other)
{
    const struct record_site_row *a = one, *b = other;
    return a->name == b->name && a->wall == b->wall && a->in == b->in && a->spacing == b->spacing && a->first == b->first
        && a->count == b->count;
}

static bool
same_site_door(const void *one, const void *other)
{
    const struct record_site_door *a = one, *b = other;
    return a->row == b->row && a->from == b->from && a->to == b->to;
}

static bool
same_lean(const struct record_lean *a, const struct record_lean *b)
{
    return a->rise == b->rise && a->over == b->over && a->way == b->way;
}

static bool
same_set(const void *one, const void *other)
{
    const struct record_set *a = one, *b = other;
    return a->row == b->row && a->date == b->date && a->has_gap == b->has_gap && a->gap == b->gap && same_figure(a->sigma, b->sigma)
        && a->side == b->side && a->line == b->line && a->height == b->height && a->plumb_rise == b->plumb_rise
        && a->plumb_over == b->plumb_over && a->has_reveal == b->has_reveal && a->reveal == b->reveal && a->first == b->first
        && a->posts == b->posts && a->entry == b->entry;
}

static bool
same_set_row(const void *one, const void *other)
{
    const struct record_set_row *a = one, *b = other;
    return a->at == b->at && a->has_gap == b->has_gap && a->has_two == b->has_two && a->gap == b->gap && a->low == b->low
        && a->high == b->high && a->apart == b->apart && same_lean(&a->across, &b->across) && same_lean(&a->along, &b->along)
        && a->note == b->note;
}

static bool
same_pad(const void *one, const void *other)
{
    const struct record_pad *a = one, *b = other;
    return a->grade == b->grade && a->level == b->level && a->first == b->first && a->spots == b->spots && a->method == b->method
        && a->bounded == b->bounded && a->by_site == b->by_site && a->x == b->x && a->y == b->y && a->along == b->along
        && a->across == b->across && a->margin == b->margin && a->stone == b->stone && same_figure(a->density, b->density)
        && a->density_text == b->density_text && a->source == b->source && same_figure(a->swell, b->swell) && a->entry == b->entry;
}

static bool
same_plan(const void *one, const void *other)
{
    const struct record_plan *a = one, *b = other;
    return a->name == b->name && a->entry == b->entry && a->first == b->first && a->setups == b->setups;
}

static bool
same_plan_setup(const void *one, const void *other)
{
    const struct record_plan_setup *a = one, *b = other;
    return a->from == b->from && a->to == b->to && a->dist == b->dist && a->first == b->first && a->sights == b->sights;
}

static bool
same_plan_sight(const void *one, const void *other)
{
    const struct record_plan_sight *a = one, *b = other;
    return a->at == b->at && a->on == b->on;
}

static bool
same_length(const void *one, const void *other)
{
    return *(const length *)one == *(const length *)other;
}

static bool
same_name(const void *one, const void *other)
{
    return *(const uint32_t *)one == *(const uint32_t *)other;
}

static bool
same_next(const struct record *a, const struct record *b)
{
    return (a->next == NULL) == (b->next == NULL)
        && (!a->next || a->rows == 0 || memcmp(a->next, b->next, a->rows * sizeof *a->next) == 0);
}

/* Every array of a record, and how two members of it are compared. */
#define ARRAY(word, member, n, same) { word, offsetof(struct record, member), offsetof(struct record, n), sizeof *((struct record *)0)->member, same }
static const struct {
    const char *word;
    size_t array, n, size; /* where its pointer and its count stand in the record, and the size of a member */
    bool (*same)(const void *one, const void *other);
} arrays[] = {
    ARRAY("entries", entry, entries, same_entry),
    ARRAY("marks", mark, marks, same_mark),
    ARRAY("points", point, points, same_point),
    ARRAY("places of set-ups", stand, stands, same_stand),
    ARRAY("grades", grade, grades, same_grade),
    ARRAY("rows", row, rows, same_row),
    ARRAY("sight lengths", dist, dists, same_dist),
    ARRAY("wires, pages and notes", extra, extras, same_extra),
    ARRAY("sections", section, sections, same_section),
    ARRAY("tapes", tape, tapes, same_tape),
    ARRAY("taped lengths", taped, tapeds, same_taped),
    ARRAY("unsupported spans", tape_span, tape_spans, same_length),
    ARRAY("strikes", strike, strikes, same_strike),
    ARRAY("holes", hole, holes, same_hole),
    ARRAY("concrete", concrete, concretes, same_concrete),
    ARRAY("runs", run, runs, same_run),
    ARRAY("continuations", continuation, continuations, same_continuation),
    ARRAY("buildings", site, sites, same_site),
    ARRAY("rows of posts", site_row, site_rows, same_site_row),
    ARRAY("doors", site_door, site_doors, same_site_door),
    ARRAY("places of posts", site_place, site_places, same_length),
    ARRAY("rows of posts as they stand", set, sets, same_set),
    ARRAY("posts as they stand", set_row, set_rows, same_set_row),
    ARRAY("pads", pad, pads, same_pad),
    ARRAY("spots of a pad", pad_spot, pad_spots, same_name),
    ARRAY("plans", plan, plans, same_plan),
    ARRAY("set-ups of a plan", plan_setup, plan_setups, same_plan_setup),
    ARRAY("sights of a plan", plan_sight, plan_sights, same_plan_sight),
};

static bool
same_array(const struct record *a, const struct record *b, size_t which)
{
    const char *one, *other;
    size_t n, m, size = arrays[which].size;
    memcpy(&one, (const char *)a + arrays[which].array, sizeof one);
    memcpy(&other, (const char *)b + arrays[which].array, sizeof other);
    memcpy(&n, (const char *)a + arrays[which].n, sizeof n);
    memcpy(&m, (const char *)b + arrays[which].n, sizeof m);
    bool same = n == m;
    for (size_t i = 0; i < n && same; i++)
        same = arrays[which].same(one + i * size, other + i * size);
    return same;
}

const char *
carry_differs(const struct record *a, const struct record *b)
{
    if (a->has_job != b->has_job || !same_job(&a->job, &b->job))
        return "the job";
    if (!same_names(&a->names, &b->names))
        return "names";
    if (!same_names(&a->texts, &b->texts))
        return "texts";
    for (size_t i = 0; i < sizeof arrays / sizeof arrays[0]; i++)
        if (!same_array(a, b, i))
            return arrays[i].word;
    return same_next(a, b) ? NULL : "the order of rows";
}

/* Each entry that was carried stands under a digest that fits. */
static bool
all_sealed(const struct carry *c, const struct record *r)
{
    bool sealed = r->entries == c->at.entries;
    for (size_t i = c->first - 1; i < r->entries && sealed; i++)
        sealed = r->entry[i].sealed && !r->entry[i].broken;
    return sealed;
}

int
carry_verify(const struct carry *c, const char *above, size_t above_n, const struct record *plain, struct diag *d)
{
    struct append_text whole = { 0 };
    struct diag found = { 0 };
    struct record r = { 0 };
    int rc = add(&whole, above, above_n) && add(&whole, c->text.bytes, c->text.n) ? 0 : -1;
    struct source source = source_of_bytes(whole.bytes, whole.n);
    if (rc == 0)
        rc = record_read(&r, &source, &found);
    const char *differs = rc != 0 ? NULL : found.errors > 0 || !all_sealed(c, &r) ? "entries" : carry_differs(plain, &r);
    if (differs)
        diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "carry", "under digests it would not say the same: %s differ; write each key "
            "on a line of its own, and each text on one line in quotes", differs);
    record_release(&r);
    diag_release(&found);
    append_text_release(&whole);
    return rc;
}
