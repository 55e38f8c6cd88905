/* rows.c - levels, sections and strikes */
#include "entries.h"

#include "rodbook/room.h"

#include <stdlib.h>

const char *const on_words[RECORD_ON_COUNT] = { "mark", "batten", "ground", "hole", "post", "top" };

struct reading {
    length value;
    const length *wire; /* upper, middle, lower; NULL for a single reading */
};

struct for_draft {
    uint32_t entry, row;
};

struct row_draft {
    uint32_t at, on;
    struct reading bs, is, fs;
    length dist, bs_dist, fs_dist;
    uint32_t page, note;
    struct for_draft stands_for;
    bool moved;
};

static bool
within_rod(struct reader *in, struct diag_place place, length v)
{
    const struct record_job *job = &in->r->job;
    length most = job->rod_length > 0 ? job->rod_length : RECORD_ROD_MOST;
    if (v <= most && v >= -most)
        return true;
    static const struct length_style styles[] = { { LENGTH_AS_FT, 3, 0 }, { LENGTH_AS_FT_IN, 0, 64 },
        { LENGTH_AS_M, 3, 0 } }; /* by enum length_unit */
    static const char *const signs[] = { " ft", "", " m" };
    char found[LENGTH_TEXT], rod[LENGTH_TEXT];
    length_print(found, v, styles[job->unit]);
    length_print(rod, most, styles[job->unit]);
    diag_say(in->d, DIAG_ERROR, place, "rod-length", "%s: %s%s is longer than the rod, %s%s; read it again%s", in->key,
        found, signs[job->unit], rod, signs[job->unit], job->rod_length > 0 ? ", or mend rod-length" : "");
    return false;
}

/* The middle wire must lie between the others, near half way. */
static void
check_wires(struct reader *in, struct diag_place place, const struct reading *v)
{
    length upper = v->wire[0] - v->wire[1], lower = v->wire[1] - v->wire[2];
    length off = upper - lower;
    if ((upper < 0) != (lower < 0))
        diag_say(in->d, DIAG_ERROR, place, "three-wire", "%s: the middle wire does not lie between upper and lower; write upper, middle, lower, or read them again",
            in->key);
    else if (off > 2 * in->r->job.least || -off > 2 * in->r->job.least)
        diag_say(in->d, DIAG_WARNING, place, "half-interval",
            "%s: the half-intervals differ by more than twice the least division; read the wires again", in->key);
}

static bool
check_wires_count(struct reader *in, struct diag_place place, size_t n)
{
    if (n == 3)
        return true;
    if (n == 6)
        diag_say(in->d, DIAG_ERROR, place, "decimal-comma",
            "%s has six numbers; where they are three with decimal commas, write points: [1.408, 1.352, 1.296]", in->key);
    else
        diag_say(in->d, DIAG_ERROR, place, "three-wire", "%s has %zu readings; write upper, middle and lower", in->key,
            n);
    return false;
}

/* Three wires stand in the reader until the row is kept: a row has two such sights at most. */
static void
take_wires(struct reader *in, struct reading *v)
{
    struct diag_place place = events_place(&in->e);
    length *wire = in->wire[in->wired++ % 2];
    size_t n = 0;
    bool good = true;
    while (events_next(&in->e) && in->e.event.type != YAML_SEQUENCE_END_EVENT) {
        length one = 0;
        good &= wants_scalar(in, "three readings: upper, middle, lower") && length_of_scalar(in, &one);
        if (n < 3)
            wire[n] = one;
        n++;
    }
    if (in->e.dead || !good || !check_wires_count(in, place, n))
        return;
    for (size_t i = 0; i < 3; i++)
        if (!within_rod(in, place, wire[i]))
            return;
    v->wire = wire;
    v->value = length_divide(wire[0] + wire[1] + wire[2], 1, 3);
    check_wires(in, place, v);
}

static void
take_reading(struct reader *in, void *at, const struct field *field)
{
    struct reading *v = at;
    (void)field;
    if (in->e.event.type == YAML_SEQUENCE_START_EVENT)
        take_wires(in, v);
    else if (wants_scalar(in, "a reading, or three: upper, middle, lower") && length_of_scalar(in, &v->value))
        (void)within_rod(in, events_place(&in->e), v->value);
}

static void
take_for(struct reader *in, void *at, const struct field *field)
{
    static const struct field fields[] = {
        { KEY("entry"), take_count, offsetof(struct for_draft, entry), true, NULL, 0 },
        { KEY("row"), take_count, offsetof(struct for_draft, row), true, NULL, 0 },
    };
    (void)field;
    struct seen seen;
    (void)fields_read(in, fields, 2, at, "for", &seen);
}

enum { ROW_AT, ROW_ON, ROW_IS, ROW_BS, ROW_FS, ROW_DIST, ROW_BS_DIST, ROW_FS_DIST, ROW_MOVED, ROW_PAGE, ROW_NOTE,
    ROW_FOR, ROW_FIELDS };

static const struct field row_fields[ROW_FIELDS] = {
    { KEY("at"), take_name, offsetof(struct row_draft, at), true, NULL, 0 },
    { KEY("on"), take_word, offsetof(struct row_draft, on), false, on_words, RECORD_ON_COUNT },
    { KEY("is"), take_reading, offsetof(struct row_draft, is), false, NULL, 0 },
    { KEY("bs"), take_reading, offsetof(struct row_draft, bs), false, NULL, 0 },
    { KEY("fs"), take_reading, offsetof(struct row_draft, fs), false, NULL, 0 },
    { KEY("dist"), take_distance, offsetof(struct row_draft, dist), false, NULL, 0 },
    { KEY("bs-dist"), take_distance, offsetof(struct row_draft, bs_dist), false, NULL, 0 },
    { KEY("fs-dist"), take_distance, offsetof(struct row_draft, fs_dist), false, NULL, 0 },
    { KEY("moved"), take_truth, offsetof(struct row_draft, moved), false, NULL, 0 },
    { KEY("page"), take_count, offsetof(struct row_draft, page), false, NULL, 0 },
    { KEY("note"), take_text, offsetof(struct row_draft, note), false, NULL, 0 },
    { KEY("for"), take_for, offsetof(struct row_draft, stands_for), false, NULL, 0 },
};

static void
check_row(struct reader *in, const struct seen *seen)
{
    bool bs = seen_field(seen, ROW_BS), is = seen_field(seen, ROW_IS), fs = seen_field(seen, ROW_FS);
    if (!bs && !is && !fs && !seen->faulty)
        diag_say(in->d, DIAG_ERROR, seen->start, "row-sights", "a row has bs, is or fs, or fs and bs; this has none");
    if (is && (bs || fs))
        diag_say(in->d, DIAG_ERROR, seen->at[ROW_IS], "row-sights",
            "is stands beside %s; an intermediate sight has a row of its own", bs ? "bs" : "fs");
    if (seen_field(seen, ROW_DIST) && bs && fs)
        diag_say(in->d, DIAG_ERROR, seen->at[ROW_DIST], "row-dist",
            "dist does not say which sight; write fs-dist and bs-dist");
    if (seen_field(seen, ROW_BS_DIST) && !bs)
        diag_say(in->d, DIAG_ERROR, seen->at[ROW_BS_DIST], "row-dist", "bs-dist without bs");
    if (seen_field(seen, ROW_FS_DIST) && !fs)
        diag_say(in->d, DIAG_ERROR, seen->at[ROW_FS_DIST], "row-dist", "fs-dist without fs");
    for (size_t i = ROW_BS_DIST; i <= ROW_FS_DIST; i++)
        if (seen_field(seen, i) && seen_field(seen, ROW_DIST) && !(bs && fs))
            diag_say(in->d, DIAG_ERROR, seen->at[i], "row-dist", "%s beside dist; one sight has one length",
                row_fields[i].key);
}

static struct record_dist
dist_of(const struct row_draft *draft, const struct seen *seen)
{
    struct record_dist dist = { draft->fs_dist, draft->bs_dist };
    if (seen_field(seen, ROW_DIST))
        *(seen_field(seen, ROW_BS) ? &dist.bs : &dist.ahead) = draft->dist;
    return dist;
}

static uint32_t
keep_dist(struct reader *in, struct record_dist dist)
{
    if ((dist.ahead < 0 && dist.bs < 0) || !make_room(in, dist, dist_room, dists))
        return RECORD_NONE;
    in->r->dist[in->r->dists] = dist;
    return (uint32_t)in->r->dists++;
}

static void
fill_extra(struct record_extra *x, const struct row_draft *draft, const struct seen *seen)
{
    const struct reading *ahead = seen_field(seen, ROW_IS) ? &draft->is : &draft->fs;
    *x = no_extra;
    x->dist = dist_of(draft, seen);
    x->page = draft->page;
    x->note = draft->note;
    x->for_entry = draft->stands_for.entry;
    x->for_row = draft->stands_for.row;
    x->for_place = seen_field(seen, ROW_FOR) ? seen->at[ROW_FOR] : (struct diag_place){ 0, 0 };
    for (size_t i = 0; i < 3; i++) {
        x->wire_ahead[i] = ahead->wire ? ahead->wire[i] : 0;
        x->wire_bs[i] = draft->bs.wire ? draft->bs.wire[i] : 0;
    }
    x->wires = (uint8_t)((draft->bs.wire ? RECORD_HAS_BS : 0) | (draft->fs.wire ? RECORD_HAS_FS : 0)
        | (draft->is.wire ? RECORD_HAS_IS : 0));
}

/* What few rows carry goes into a table beside them. */
static uint32_t
keep_more(struct reader *in, const struct row_draft *draft, const struct seen *seen)
{
    const uint32_t rare = UINT32_C(1) << ROW_PAGE | UINT32_C(1) << ROW_NOTE | UINT32_C(1) << ROW_FOR;
    if (!(seen->bits & rare) && !draft->is.wire && !draft->fs.wire && !draft->bs.wire)
        return keep_dist(in, dist_of(draft, seen));
    if (!make_room(in, extra, extra_room, extras))
        return RECORD_NONE;
    struct record_extra *x = &in->r->extra[in->r->extras];
    fill_extra(x, draft, seen);
    in->r->three_wire |= x->wires != 0;
    return RECORD_EXTRA | (uint32_t)in->r->extras++;
}

static void
keep_row(struct reader *in, const struct row_draft *draft, const struct seen *seen)
{
    uint32_t more = keep_more(in, draft, seen);
    if (!make_room(in, row, row_room, rows))
        return;
    bool is = seen_field(seen, ROW_IS);
    uint32_t column = seen->start.column;
    in->r->row[in->r->rows++] = (struct record_row){
        .bs = draft->bs.value,
        .ahead = is ? draft->is.value : draft->fs.value,
        .at = draft->at,
        .line = seen->start.line,
        .more = more,
        .column = (uint16_t)(column < UINT16_MAX ? column : UINT16_MAX),
        .on = (uint8_t)draft->on,
        .flags = (uint8_t)((seen_field(seen, ROW_BS) ? RECORD_HAS_BS : 0) | (is ? RECORD_HAS_IS : 0)
            | (seen_field(seen, ROW_FS) ? RECORD_HAS_FS : 0) | (draft->moved ? RECORD_MOVED : 0)),
    };
}

static void
take_readings(struct reader *in, void *at, const struct field *field)
{
    static const struct row_draft blank = { .at = RECORD_NONE, .dist = -1, .bs_dist = -1, .fs_dist = -1,
        .page = RECORD_NONE, .note = RECORD_NONE };
    uint32_t *count = at, number = 0;
    (void)field;
    if (!wants_list(in, "readings wants a list of rows: - {at: BM1, bs: 4.62}"))
        return;
    while (events_next(&in->e) && in->e.event.type != YAML_SEQUENCE_END_EVENT) {
        struct row_draft draft = blank;
        struct seen seen;
        bool whole = fields_read(in, row_fields, ROW_FIELDS, &draft, "a reading", &seen);
        if (!whole)
            return;
        check_row(in, &seen);
        keep_row(in, &draft, &seen);
        number++;
    }
    *count = number;
}

struct run_draft {
    uint32_t date, instrument, observer, rodman, weather, note;
    uint32_t continues;
    uint32_t rows;
};

/* What levels and sections both begin with. */
#define RUN_HEAD                                                                                  \
    { KEY("date"), take_date, offsetof(struct run_draft, date), false, NULL, 0 },                 \
    { KEY("instrument"), take_text, offsetof(struct run_draft, instrument), false, NULL, 0 },     \
    { KEY("observer"), take_text, offsetof(struct run_draft, observer), false, NULL, 0 },         \
    { KEY("rodman"), take_text, offsetof(struct run_draft, rodman), false, NULL, 0 },             \
    { KEY("weather"), take_text, offsetof(struct run_draft, weather), false, NULL, 0 },           \
    { KEY("note"), take_text, offsetof(struct run_draft, note), false, NULL, 0 }

static const struct run_draft blank_run = { RECORD_NONE, RECORD_NONE, RECORD_NONE, RECORD_NONE, RECORD_NONE, RECORD_NONE,
    0, 0 };

enum { RUN_ROWS, RUN_DATE, RUN_INSTRUMENT, RUN_OBSERVER, RUN_RODMAN, RUN_WEATHER, RUN_NOTE, RUN_CONTINUES, RUN_FIELDS };

static void
keep_run(struct reader *in, const struct run_draft *draft, size_t first, bool sections)
{
    size_t end = sections ? in->r->sections : in->r->rows;
    if (!make_room(in, run, run_room, runs))
        return;
    in->r->entry[in->entry].head = (uint32_t)in->r->runs;
    in->r->run[in->r->runs++] = (struct record_run){
        .entry = in->entry,
        .first_row = end > first ? (uint32_t)first : RECORD_NONE,
        .last_row = end > first ? (uint32_t)end - 1 : RECORD_NONE,
        .sections = sections,
        .date = draft->date,
        .instrument = draft->instrument,
        .observer = draft->observer,
        .rodman = draft->rodman,
        .weather = draft->weather,
        .note = draft->note,
    };
}

void
take_levels(struct reader *in, void *at, const struct field *field)
{
    static const struct field fields[RUN_FIELDS] = {
        { KEY("readings"), take_readings, offsetof(struct run_draft, rows), true, NULL, 0 },
        RUN_HEAD,
        { KEY("continues"), take_count, offsetof(struct run_draft, continues), false, NULL, 0 },
    };
    (void)at;
    (void)field;
    struct run_draft draft = blank_run;
    struct seen seen;
    size_t first = in->r->rows;
    (void)fields_read(in, fields, RUN_FIELDS, &draft, "levels", &seen);
    size_t end = in->r->rows;
    struct record_entry *entry = &in->r->entry[in->entry];
    if (end > first && make_room(in, span, span_room, spans))
        in->r->span[in->r->spans++] = (struct record_span){ (uint32_t)first, in->entry };
    entry->first = (uint32_t)first;
    entry->rows = (uint32_t)(end - first);
    if (!seen_field(&seen, RUN_CONTINUES)) {
        keep_run(in, &draft, first, false);
        return;
    }
    if (make_room(in, continuation, continuation_room, continuations))
        in->r->continuation[in->r->continuations++]
            = (struct record_continuation){ in->entry, draft.continues, seen.at[RUN_CONTINUES] };
}

enum { SECTION_FROM, SECTION_TO, SECTION_RISE, SECTION_DIST, SECTION_SETUPS, SECTION_SIGMA, SECTION_NOTE,
    SECTION_FIELDS };

/* Its ends are named where they stand before it, as they mostly do. */
static void
take_section_sigma(struct reader *in, void *at, const struct field *field)
{
    struct record_section *s = at;
    if (sigma_of_scalar(in, field, &s->sigma))
        return;
    bool known = s->from != RECORD_NONE && s->to != RECORD_NONE;
    complain(in, "range", "sigma of the section%s%s%s%s: %s is not above 0; leave it out where setups or dist say how sure the section is",
        known ? " " : "", known ? names_text(&in->r->names, s->from) : "", known ? " to " : "",
        known ? names_text(&in->r->names, s->to) : "", events_text(&in->e));
}

static void
take_section_rows(struct reader *in, void *at, const struct field *field)
{
    static const struct field fields[SECTION_FIELDS] = {
        { KEY("from"), take_name, offsetof(struct record_section, from), true, NULL, 0 },
        { KEY("to"), take_name, offsetof(struct record_section, to), true, NULL, 0 },
        { KEY("rise"), take_length, offsetof(struct record_section, rise), true, NULL, 0 },
        { KEY("dist"), take_distance, offsetof(struct record_section, dist), false, NULL, 0 },
        { KEY("setups"), take_count, offsetof(struct record_section, setups), false, NULL, 0 },
        { KEY("sigma"), take_section_sigma, 0, false, NULL, 0 },
        { KEY("note"), take_text, offsetof(struct record_section, note), false, NULL, 0 },
    };
    uint32_t number = 0;
    (void)at;
    (void)field;
    if (!wants_list(in, "rows wants a list: - {from: BM1, to: BM2, rise: -1.274}"))
        return;
    while (events_next(&in->e) && in->e.event.type != YAML_SEQUENCE_END_EVENT) {
        struct record_section s = { .from = RECORD_NONE, .to = RECORD_NONE, .dist = -1, .note = RECORD_NONE,
            .strike = RECORD_NONE, .entry = in->entry, .number = number + 1 };
        struct seen seen;
        bool whole = fields_read(in, fields, SECTION_FIELDS, &s, "a section", &seen);
        s.place = seen.start;
        if (s.from != RECORD_NONE && s.from == s.to)
            diag_say(in->d, DIAG_ERROR, seen.start, "section-ends", "a section from a point to itself");
        if (!whole || !make_room(in, section, section_room, sections))
            return;
        in->r->section[in->r->sections++] = s;
        number++;
    }
}

void
take_sections(struct reader *in, void *at, const struct field *field)
{
    static const struct field fields[] = {
        { KEY("rows"), take_section_rows, offsetof(struct run_draft, rows), true, NULL, 0 },
        RUN_HEAD,
    };
    (void)at;
    (void)field;
    struct run_draft draft = blank_run;
    struct seen seen;
    size_t first = in->r->sections;
    (void)fields_read(in, fields, sizeof fields / sizeof fields[0], &draft, "sections", &seen);
    struct record_entry *entry = &in->r->entry[in->entry];
    entry->first = (uint32_t)first;
    entry->rows = (uint32_t)(in->r->sections - first);
    keep_run(in, &draft, first, true);
}

void
take_strike(struct reader *in, void *at, const struct field *field)
{
    static const char *const sights[] = { "row", "bs", "fs" }; /* as enum record_sight */
    enum { STRIKE_FIELDS = 4 };
    struct draft {
        uint32_t entry, row, sight, reason;
    } draft = { 0, 0, RECORD_WHOLE_ROW, RECORD_NONE };
    static const struct field fields[STRIKE_FIELDS] = {
        { KEY("entry"), take_count, offsetof(struct draft, entry), true, NULL, 0 },
        { KEY("row"), take_count, offsetof(struct draft, row), true, NULL, 0 },
        { KEY("reason"), take_text, offsetof(struct draft, reason), true, NULL, 0 },
        { KEY("sight"), take_word, offsetof(struct draft, sight), false, sights, 3 },
    };
    (void)at;
    (void)field;
    struct seen seen;
    (void)fields_read(in, fields, STRIKE_FIELDS, &draft, "strike", &seen);
    if (draft.entry == 0 || draft.row == 0 || !make_room(in, strike, strike_room, strikes))
        return;
    in->r->strike[in->r->strikes++] = (struct record_strike){ draft.entry, draft.row, (enum record_sight)draft.sight,
        draft.reason, in->entry, seen.start };
}
