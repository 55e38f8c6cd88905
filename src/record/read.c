/* read.c - from bytes to entries: envelopes, the job, and going on after a fault */
#include "entries.h"

#include "rodbook/room.h"
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

/* A length of the job entry, kept as text until the job's unit is known. */
struct late {
    char text[64];
    size_t n;
    struct diag_place place;
};

struct root_draft {
    uint32_t entry, by, time;
    uint32_t job, place, unit, spread, per;
    struct late least, rod_length, misclosure, sigma, sigma_km;
};

enum { ROOT_ENTRY, ROOT_BY, ROOT_TIME, ROOT_DIGEST, ROOT_JOB, ROOT_MARKS, ROOT_POINTS, ROOT_GRADE, ROOT_LEVELS,
    ROOT_SECTIONS, ROOT_PLAN, ROOT_SITE, ROOT_TAPE, ROOT_HOLES, ROOT_CONCRETE, ROOT_SET, ROOT_PAD,
    ROOT_STRIKE, ROOT_SEAL, ROOT_PLACE, ROOT_UNIT, ROOT_LEAST, ROOT_ROD_LENGTH, ROOT_ALLOW, ROOT_SPREAD,
    ROOT_SIGMA, ROOT_SIGMA_KM, ROOT_FIELDS };

static void
take_late(struct reader *in, void *at, const struct field *field)
{
    struct late *late = at;
    if (!wants_scalar(in, "a length"))
        return;
    size_t n = events_length(&in->e);
    if (n >= sizeof late->text) {
        complain(in, "number", "%s: this value is too long to be a length; write 0.01, or 1/16 in", field->key);
        return;
    }
    memcpy(late->text, events_text(&in->e), n + 1);
    late->n = n;
    late->place = events_place(&in->e);
}

static void
take_digest(struct reader *in, void *at, const struct field *field)
{
    (void)at;
    (void)field;
    (void)wants_scalar(in, "64 hexadecimal digits"); /* its form is for the scan to judge */
}

static void
take_allow(struct reader *in, void *at, const struct field *field)
{
    enum { ALLOW_MISCLOSURE, ALLOW_PER, ALLOW_FIELDS };
    static const char *const per[] = { "job", "root-setup", "root-km", "root-mile" }; /* enum record_allow_per, less 1 */
    static const struct field fields[ALLOW_FIELDS] = {
        { KEY("misclosure"), take_late, offsetof(struct root_draft, misclosure), true, NULL, 0 },
        { KEY("per"), take_word, offsetof(struct root_draft, per), true, per, 4 },
    };
    struct seen seen;
    in->r->job.allow_place = events_place(&in->e);
    (void)fields_read(in, fields, ALLOW_FIELDS, at, field->key, &seen);
}

static void
take_spread(struct reader *in, void *at, const struct field *field)
{
    in->r->job.spread_place = events_place(&in->e);
    take_word(in, at, field);
}

static const char *const unit_words[] = { "ft", "ft-in", "m" };                         /* enum length_unit */
static const char *const spread_words[] = { "setups", "distance", "least-squares" };    /* enum record_spread */

static const struct field root_fields[ROOT_FIELDS] = {
    { KEY("entry"), take_count, offsetof(struct root_draft, entry), false, NULL, 0 },
    { KEY("by"), take_text, offsetof(struct root_draft, by), false, NULL, 0 },
    { KEY("time"), take_time, offsetof(struct root_draft, time), false, NULL, 0 },
    { KEY("digest"), take_digest, 0, false, NULL, 0 },
    { KEY("job"), take_text, offsetof(struct root_draft, job), false, NULL, 0 },
    { KEY("marks"), take_marks, 0, false, NULL, 0 },
    { KEY("points"), take_points, 0, false, NULL, 0 },
    { KEY("grade"), take_grade, 0, false, NULL, 0 },
    { KEY("levels"), take_levels, 0, false, NULL, 0 },
    { KEY("sections"), take_sections, 0, false, NULL, 0 },
    { KEY("plan"), take_plan, 0, false, NULL, 0 },
    { KEY("site"), take_site, 0, false, NULL, 0 },
    { KEY("tape"), take_tape, 0, false, NULL, 0 },
    { KEY("holes"), take_holes, 0, false, NULL, 0 },
    { KEY("concrete"), take_concrete, 0, false, NULL, 0 },
    { KEY("set"), take_set, 0, false, NULL, 0 },
    { KEY("pad"), take_pad, 0, false, NULL, 0 },
    { KEY("strike"), take_strike, 0, false, NULL, 0 },
    { KEY("seal"), take_seal, 0, false, NULL, 0 },
    { KEY("place"), take_text, offsetof(struct root_draft, place), false, NULL, 0 },
    { KEY("unit"), take_word, offsetof(struct root_draft, unit), false, unit_words, 3 },
    { KEY("least"), take_late, offsetof(struct root_draft, least), false, NULL, 0 },
    { KEY("rod-length"), take_late, offsetof(struct root_draft, rod_length), false, NULL, 0 },
    { KEY("allow"), take_allow, 0, false, NULL, 0 },
    { KEY("spread"), take_spread, offsetof(struct root_draft, spread), false, spread_words, 3 },
    { KEY("sigma"), take_late, offsetof(struct root_draft, sigma), false, NULL, 0 },
    { KEY("sigma-km"), take_late, offsetof(struct root_draft, sigma_km), false, NULL, 0 },
};

/* ---- the job ---- */

static void
above_zero(struct reader *in, const struct late *late, const char *key, length *value)
{
    if (late->n == 0)
        return;
    enum length_status s = length_read(late->text, late->n, in->r->job.unit, value);
    if (s != LENGTH_OK)
        say_length(in, late->place, key, late->text, late->n, s);
    else if (*value <= 0)
        diag_say(in->d, DIAG_ERROR, late->place, "range", "%s: %s is not above 0", key, late->text);
}

/* A number above 0; `instead` is what else to write. */
static void
real_above_zero(struct reader *in, const struct late *late, const char *key, const char *instead, double *nm)
{
    if (late->n == 0)
        return;
    enum length_status s = length_read_real(late->text, late->n, in->r->job.unit, nm);
    if (s != LENGTH_OK)
        say_length(in, late->place, key, late->text, late->n, s);
    else if (!(*nm > 0))
        diag_say(in->d, DIAG_ERROR, late->place, "range", "%s: %s is not above 0; %s", key, late->text, instead);
}

static void
keep_job(struct reader *in, const struct root_draft *draft, const struct seen *seen)
{
    struct record_job *job = &in->r->job;
    double sigma = 0, sigma_km = 0;
    if (in->entry != 0) {
        in->late_job = true;
        diag_say(in->d, DIAG_ERROR, seen->at[ROOT_JOB], "job-entry",
            in->r->has_job ? "a record has one job entry; this is another" : "the job entry comes first");
        return;
    }
    in->r->has_job = true;
    job->name = draft->job;
    job->place = draft->place;
    job->unit = (enum length_unit)draft->unit;
    job->spread = (enum record_spread)draft->spread;
    for (size_t i = ROOT_UNIT; i <= ROOT_LEAST; i++)
        if (!seen_field(seen, i))
            diag_say(in->d, DIAG_ERROR, seen->at[ROOT_JOB], "missing-key", "a job has no %s", root_fields[i].key);
    above_zero(in, &draft->least, "least", &job->least);
    above_zero(in, &draft->rod_length, "rod-length", &job->rod_length);
    if (job->rod_length > RECORD_ROD_MOST)
        diag_say(in->d, DIAG_ERROR, draft->rod_length.place, "range", "rod-length: %s is more than 30 m; no rod is so long",
            draft->rod_length.text);
    real_above_zero(in, &draft->misclosure, "misclosure", "leave allow out, and nothing is judged", &job->allow_nm);
    job->allow_per = draft->misclosure.n > 0 ? (enum record_allow_per)(draft->per + 1) : RECORD_ALLOW_NONE;
    real_above_zero(in, &draft->sigma, "sigma", "leave it out, and half of least is taken", &sigma);
    real_above_zero(in, &draft->sigma_km, "sigma-km", "leave it out, and sections go by their own sigma or setups", &sigma_km);
    job->sigma = (draft->sigma.n > 0 ? sigma : (double)job->least / 2) / (double)LENGTH_M;
    job->sigma_km = sigma_km / (double)LENGTH_M;
}

/* ---- envelopes ---- */

static enum record_kind
kind_of(struct reader *in, const struct seen *seen)
{
    static const enum record_kind kinds[] = { RECORD_JOB, RECORD_MARKS, RECORD_POINTS, RECORD_GRADE, RECORD_LEVELS,
        RECORD_SECTIONS, RECORD_PLAN, RECORD_SITE, RECORD_TAPE, RECORD_HOLES, RECORD_CONCRETE, RECORD_SET_POSTS, RECORD_PAD,
        RECORD_STRIKE, RECORD_SEAL }; /* from ROOT_JOB on */
    enum record_kind kind = RECORD_FAULTY;
    for (size_t i = ROOT_JOB; i <= ROOT_SEAL; i++) {
        if (!seen_field(seen, i))
            continue;
        if (kind != RECORD_FAULTY)
            diag_say(in->d, DIAG_ERROR, seen->at[i], "one-kind",
                "an entry has one kind; begin a new entry with --- for %s", root_fields[i].key);
        kind = kinds[i - ROOT_JOB];
    }
    if (kind == RECORD_FAULTY && !seen->faulty)
        diag_say(in->d, DIAG_ERROR, seen->start, "no-kind",
            "an entry is one of job, marks, points, grade, levels, sections, plan, site, tape, holes, concrete, set, pad, "
            "strike, seal");
    return kind;
}

static void
check_envelope(struct reader *in, const struct root_draft *draft, const struct seen *seen, const struct scan_entry *met)
{
    bool sealed = met->state == SCAN_SEALED;
    for (size_t i = ROOT_PLACE; i <= ROOT_SIGMA_KM; i++)
        if (seen_field(seen, i) && !seen_field(seen, ROOT_JOB))
            diag_say(in->d, DIAG_ERROR, seen->at[i], "unknown-key", "%s belongs to a job entry", root_fields[i].key);
    if (seen_field(seen, ROOT_ENTRY) && draft->entry != in->entry + 1 && draft->entry != 0)
        diag_say(in->d, DIAG_ERROR, seen->at[ROOT_ENTRY], "entry-number",
            "entry %" PRIu32 " stands in the place of entry %" PRIu32, draft->entry, in->entry + 1);
    if (seen_field(seen, ROOT_ENTRY) && !sealed)
        diag_say(in->d, DIAG_ERROR, seen->at[ROOT_ENTRY], "entry-first",
            "an entry's number stands on its first line, behind ---, and is for the program to write");
    if (seen_field(seen, ROOT_DIGEST) && !sealed && !met->stray)
        diag_say(in->d, DIAG_ERROR, seen->at[ROOT_DIGEST], "digest-form",
            "a digest stands in an entry that has no number; the program writes both, or neither");
    for (size_t i = 0; i < ROOT_FIELDS && sealed && seen_field(seen, ROOT_DIGEST); i++)
        if (seen_field(seen, i) && seen->at[i].line > seen->at[ROOT_DIGEST].line)
            diag_say(in->d, DIAG_ERROR, seen->at[i], "digest-line", "%s stands below the digest", root_fields[i].key);
}

/* The current event starts a document: read it to its end as the reader's entry. */
static bool
read_entry(struct reader *in, const struct scan_entry *met)
{
    struct root_draft draft = { .job = RECORD_NONE, .place = RECORD_NONE, .by = RECORD_NONE, .time = RECORD_NONE };
    struct seen seen;
    struct record_entry *entry = &in->r->entry[in->entry];
    size_t errors = in->d->errors;
    if (!events_next(&in->e) || !fields_read(in, root_fields, ROOT_FIELDS, &draft, "an entry", &seen))
        return false;
    entry->by = draft.by;
    entry->time = draft.time;
    if (in->e.event.type == YAML_MAPPING_END_EVENT) {
        entry->kind = kind_of(in, &seen);
        check_envelope(in, &draft, &seen, met);
    }
    if (entry->kind == RECORD_SEAL && in->d->errors == errors && entry->seal == SEAL_NONE)
        diag_say(in->d, DIAG_ERROR, seen.at[ROOT_SEAL], "seal-form",
            "a seal has key and signature, in this order, on the two lines above its digest; rodbook seal writes it");
    if (seen_field(&seen, ROOT_JOB))
        keep_job(in, &draft, &seen);
    return events_next(&in->e); /* the document's end */
}

/* ---- stretches ---- */

static bool
parses(const struct scan_entry *e)
{
    return e->state == SCAN_HAND || e->state == SCAN_SEALED;
}

/* Entries that one parser can read in a row: whole, and no text between them. */
static size_t
stretch_end(const struct scan *scan, size_t from)
{
    size_t to = from + 1;
    while (to < scan->n && parses(&scan->entry[to]) && scan->entry[to].start == scan->entry[to - 1].end)
        to++;
    return to;
}

/* Read entries [from, to) with one parser; the entry to go on from, after a fault or at the end. */
static size_t
read_stretch(struct reader *in, const struct scan *scan, const struct source *source, size_t from, size_t to)
{
    const struct scan_entry *first = &scan->entry[from];
    size_t next = from;
    if (events_open(&in->e, source, first->start, scan->entry[to - 1].end, first->line - 1, in->d) != 0) {
        in->no_memory = true;
        return scan->n;
    }
    bool inside = false;
    while (events_next(&in->e)) {
        if (in->e.event.type != YAML_DOCUMENT_START_EVENT)
            continue;
        if (next == to)
            break; /* cannot be: every document begins at a --- that the scan has seen */
        inside = true;
        in->entry = (uint32_t)next++;
        if (!read_entry(in, &scan->entry[in->entry]))
            break;
        inside = false;
    }
    bool whole = !inside && in->e.parser.error == YAML_NO_ERROR;
    uint32_t fault = first->line + (uint32_t)in->e.parser.problem_mark.line;
    events_close(&in->e);
    if (whole)
        return to;
    /* between entries the fault is the next one's, or text behind the end of the last */
    bool of_next = !inside && next < to && fault >= scan->entry[next].line;
    return of_next || next == from ? next + 1 : next;
}

static int
open_entries(struct record *r, const struct scan *scan)
{
    r->entry = room_new(scan->n, sizeof *r->entry);
    if (!r->entry)
        return -1;
    r->entries = scan->n;
    for (size_t i = 0; i < scan->n; i++)
        r->entry[i] = (struct record_entry){ .line = scan->entry[i].line, .sealed = scan->entry[i].state == SCAN_SEALED,
            .torn = scan->entry[i].state == SCAN_TORN, .broken = scan->entry[i].broken, .seal = scan->entry[i].seal,
            .by = RECORD_NONE, .time = RECORD_NONE, .head = RECORD_NONE };
    return 0;
}

static int
read_entries(struct record *r, const struct source *source, const struct scan *scan, struct diag *d)
{
    struct reader in = { .r = r, .d = d, .key = "" };
    r->chain = scan->chain;
    if (open_entries(r, scan) != 0)
        return -1;
    for (size_t i = 0, to = 0; i < scan->n;) {
        if (i >= to && parses(&scan->entry[i]))
            to = stretch_end(scan, i);
        i = parses(&scan->entry[i]) ? read_stretch(&in, scan, source, i, to) : i + 1;
    }
    if (!r->has_job && !in.late_job && (r->entries == 0 || r->entry[0].kind != RECORD_FAULTY || d->errors == 0))
        diag_say(d, DIAG_ERROR, (struct diag_place){ 1, 1 }, "job-entry",
            "the record does not begin with a job entry: job: NAME, unit: ft, least: 0.01");
    free(in.given);
    return in.no_memory || d->no_memory ? -1 : 0;
}

int
record_read_scanned(struct record *r, const struct source *source, const struct scan *scan, struct diag *d)
{
    *r = (struct record){ .job = { .name = RECORD_NONE, .place = RECORD_NONE } };
    if (read_entries(r, source, scan, d) != 0)
        return -1;
    resolve_pads(r, d);
    return resolve_rows(r, d);
}

int
record_read_on(struct record *r, const struct source *source, struct scan_end *end, struct diag *d)
{
    struct scan scan;
    *r = (struct record){ 0 };
    int rc = scan_read(&scan, source, end != NULL, d);
    if (end)
        *end = scan.end;
    if (rc == 0)
        rc = record_read_scanned(r, source, &scan, d);
    scan_release(&scan);
    return rc;
}

int
record_read(struct record *r, const struct source *source, struct diag *d)
{
    return record_read_on(r, source, NULL, d);
}
