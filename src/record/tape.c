/* tape.c - measured sides and diagonals, and the tape that they were measured with */
#include "entries.h"

#include "rodbook/quantity.h"
#include "rodbook/room.h"

#include <inttypes.h>
#include <string.h>

/* ---- quantities: field->word_count is the kind ---- */

static const char *
check_of(enum quantity_status s)
{
    static const char *const names[] = { NULL, "quantity", "decimal-comma", "quantity", "range" }; /* enum quantity_status */
    return names[s];
}

static void
take_quantity(struct reader *in, void *at, const struct field *field)
{
    enum quantity_kind kind = (enum quantity_kind)field->word_count;
    if (!wants_scalar(in, "a number with its unit"))
        return;
    const char *text = events_text(&in->e);
    size_t n = events_length(&in->e);
    if (n < sizeof in->number)
        memcpy(in->number, text, n + 1);
    enum quantity_status s = quantity_read(text, n, kind, at);
    if (s == QUANTITY_OK)
        return;
    bool plain = n <= 40 && text_is_plain(text, n);
    if (s == QUANTITY_EFORM || s == QUANTITY_EUNIT)
        complain(in, "quantity", "%s: %s %s", field->key, plain ? text : "this value", quantity_advice(s, kind));
    else
        diag_say(in->d, DIAG_ERROR, events_place(&in->e), check_of(s), "%s: %s %s", field->key, plain ? text : "this value",
            quantity_advice(s, kind));
}

/* ---- the tape ---- */

enum { CONST_NOMINAL, CONST_ACTUAL, CONST_WEIGHED, CONST_TEMP, CONST_PULL, CONST_WEIGHT, CONST_AREA, CONST_MODULUS,
    CONST_EXPANSION, CONST_FIELDS };

static const struct field constant_fields[CONST_FIELDS] = {
    { KEY("nominal"), take_distance, offsetof(struct record_tape, nominal), false, NULL, 0 },
    { KEY("actual"), take_distance, offsetof(struct record_tape, actual), false, NULL, 0 },
    { KEY("weighed"), take_distance, offsetof(struct record_tape, weighed), false, NULL, 0 },
    { KEY("temp"), take_quantity, offsetof(struct record_tape, temp), false, NULL, QUANTITY_TEMPERATURE },
    { KEY("pull"), take_quantity, offsetof(struct record_tape, pull), false, NULL, QUANTITY_FORCE },
    { KEY("weight"), take_quantity, offsetof(struct record_tape, weight), false, NULL, QUANTITY_MASS },
    { KEY("area"), take_quantity, offsetof(struct record_tape, area), false, NULL, QUANTITY_AREA },
    { KEY("modulus"), take_quantity, offsetof(struct record_tape, modulus), false, NULL, QUANTITY_STRESS },
    { KEY("expansion"), take_quantity, offsetof(struct record_tape, expansion), false, NULL, QUANTITY_EXPANSION },
};

/* A tape is never a hundredth longer or shorter than it says. */
static void
check_constants(struct reader *in, const struct record_tape *t, const struct seen *seen)
{
    bool nominal = seen_field(seen, CONST_NOMINAL), actual = seen_field(seen, CONST_ACTUAL);
    length off = t->actual - t->nominal;
    if (actual && !nominal)
        diag_say(in->d, DIAG_ERROR, seen->at[CONST_ACTUAL], "tape-constants",
            "actual says how long the tape is, and nominal is wanted as well: how long it is marked");
    else if (actual && t->nominal > 0 && (off * 100 > t->nominal || -off * 100 > t->nominal))
        diag_say(in->d, DIAG_ERROR, seen->at[CONST_ACTUAL], "tape-constants",
            "actual and nominal differ by more than 1 in 100; no tape is so far out");
    if (seen_field(seen, CONST_WEIGHT) && !nominal && !seen_field(seen, CONST_WEIGHED))
        diag_say(in->d, DIAG_ERROR, seen->at[CONST_WEIGHT], "tape-constants",
            "weight says what the tape weighs, and nominal or weighed is wanted as well: how long a piece weighs that");
}

static void
take_constants(struct reader *in, void *at, const struct field *field)
{
    struct record_tape *t = at;
    struct seen seen;
    if (!fields_read(in, constant_fields, CONST_FIELDS, t, field->key, &seen))
        return;
    if (!seen.faulty)
        check_constants(in, t, &seen);
    bool both = seen_field(&seen, CONST_NOMINAL) && seen_field(&seen, CONST_ACTUAL);
    t->has = (both ? RECORD_TAPE_LENGTH : 0) | (seen_field(&seen, CONST_TEMP) ? RECORD_TAPE_TEMP : 0)
        | (seen_field(&seen, CONST_PULL) ? RECORD_TAPE_PULL : 0) | (seen_field(&seen, CONST_WEIGHT) ? RECORD_TAPE_WEIGHT : 0)
        | (seen_field(&seen, CONST_AREA) ? RECORD_TAPE_AREA : 0) | (seen_field(&seen, CONST_MODULUS) ? RECORD_TAPE_MODULUS : 0)
        | (seen_field(&seen, CONST_EXPANSION) ? RECORD_TAPE_EXPANSION : 0);
}

static void
take_corners(struct reader *in, void *at, const struct field *field)
{
    uint32_t *corner = at, n = 0;
    struct diag_place place = events_place(&in->e);
    size_t errors = in->d->errors;
    (void)field;
    if (!wants_list(in, "corners wants the four points round the frame: [SW, SE, NE, NW]"))
        return;
    for (; events_next(&in->e) && in->e.event.type != YAML_SEQUENCE_END_EVENT; n++) {
        uint32_t name = RECORD_NONE;
        if (wants_scalar(in, "a point") && name_of_scalar(in, &name) && n < 4)
            corner[n] = name;
    }
    bool twice = false;
    for (uint32_t i = 0; i < n && i < 4; i++)
        for (uint32_t k = 0; k < i; k++)
            twice |= corner[i] == corner[k];
    if ((n != 4 || twice) && in->d->errors == errors && !in->e.dead)
        diag_say(in->d, DIAG_ERROR, place, "tape-corners", "corners wants four different points, round the frame: [SW, SE, NE, NW]");
    if (n != 4 || twice || in->d->errors != errors)
        corner[0] = RECORD_NONE;
}

/* ---- the rows ---- */

static void
take_spans(struct reader *in, void *at, const struct field *field)
{
    struct record_taped *row = at;
    (void)field;
    row->first = (uint32_t)in->r->tape_spans;
    if (!wants_list(in, "spans wants the lengths that hung unsupported: [100, 100, 36.48]"))
        return;
    while (events_next(&in->e) && in->e.event.type != YAML_SEQUENCE_END_EVENT) {
        length one = 0;
        static const struct field as = { KEY("spans"), take_distance, 0, false, NULL, 0 };
        take_distance(in, &one, &as);
        if (one > 0 && make_room(in, tape_span, tape_span_room, tape_spans))
            in->r->tape_span[in->r->tape_spans++] = one;
    }
    row->spans = (uint32_t)in->r->tape_spans - row->first;
}

enum { TAPED_FROM, TAPED_TO, TAPED_READ, TAPED_TEMP, TAPED_PULL, TAPED_SPANS, TAPED_RISE, TAPED_SLOPE, TAPED_NOTE, TAPED_FIELDS };

static const struct field taped_fields[TAPED_FIELDS] = {
    { KEY("from"), take_name, offsetof(struct record_taped, from), true, NULL, 0 },
    { KEY("to"), take_name, offsetof(struct record_taped, to), true, NULL, 0 },
    { KEY("read"), take_distance, offsetof(struct record_taped, read), true, NULL, 0 },
    { KEY("temp"), take_quantity, offsetof(struct record_taped, temp), false, NULL, QUANTITY_TEMPERATURE },
    { KEY("pull"), take_quantity, offsetof(struct record_taped, pull), false, NULL, QUANTITY_FORCE },
    { KEY("spans"), take_spans, 0, false, NULL, 0 },
    { KEY("rise"), take_length, offsetof(struct record_taped, rise), false, NULL, 0 },
    { KEY("slope"), take_quantity, offsetof(struct record_taped, slope), false, NULL, QUANTITY_SLOPE },
    { KEY("note"), take_text, offsetof(struct record_taped, note), false, NULL, 0 },
};

struct tape_draft {
    struct record_tape tape;
    uint32_t rows;
};

static void
check_taped(struct reader *in, const struct record_taped *row, const struct seen *seen)
{
    if (row->from != RECORD_NONE && row->from == row->to)
        diag_say(in->d, DIAG_ERROR, seen->start, "tape-row", "a length from a point to itself");
    if (row->read > LENGTH_KM)
        diag_say(in->d, DIAG_ERROR, seen->at[TAPED_READ], "range", "read: more than 1 km is no taped length; look for a figure too many");
    if (seen_field(seen, TAPED_RISE) && seen_field(seen, TAPED_SLOPE))
        diag_say(in->d, DIAG_ERROR, seen->at[TAPED_SLOPE], "tape-row", "rise and slope say the same; write one of them");
    if (seen_field(seen, TAPED_RISE) && row->read > 0 && (row->rise >= row->read || -row->rise >= row->read))
        diag_say(in->d, DIAG_ERROR, seen->at[TAPED_RISE], "tape-row", "a rise as long as the tape is a plumb line; look at rise and read");
    length hung = 0;
    for (uint32_t i = row->first; i < row->first + row->spans; i++)
        hung += in->r->tape_span[i];
    if (row->spans > 0 && row->read > 0 && hung > row->read)
        diag_say(in->d, DIAG_ERROR, seen->at[TAPED_SPANS], "tape-row", "the unsupported spans add up to more than the length read");
}

static void
take_taped(struct reader *in, void *at, const struct field *field)
{
    uint32_t *count = at;
    (void)field;
    if (!wants_list(in, "rows wants a list: - {from: SW, to: SE, read: 24' 0-1/4\"}"))
        return;
    while (events_next(&in->e) && in->e.event.type != YAML_SEQUENCE_END_EVENT) {
        struct record_taped row = { .from = RECORD_NONE, .to = RECORD_NONE, .note = RECORD_NONE, .strike = RECORD_NONE,
            .number = *count + 1, .tape = (uint32_t)in->r->tapes };
        struct seen seen;
        bool whole = fields_read(in, taped_fields, TAPED_FIELDS, &row, "a taped length", &seen);
        row.place = seen.start;
        row.has = (seen_field(&seen, TAPED_TEMP) ? RECORD_TAPED_TEMP : 0) | (seen_field(&seen, TAPED_PULL) ? RECORD_TAPED_PULL : 0)
            | (seen_field(&seen, TAPED_RISE) ? RECORD_TAPED_RISE : 0) | (seen_field(&seen, TAPED_SLOPE) ? RECORD_TAPED_SLOPE : 0);
        if (whole && !seen.faulty)
            check_taped(in, &row, &seen);
        if (!whole || !make_room(in, taped, taped_room, tapeds))
            return;
        in->r->taped[in->r->tapeds++] = row;
        ++*count;
    }
}

enum { TAPE_ROWS, TAPE_DATE, TAPE_TAPE, TAPE_CREW, TAPE_NOTE, TAPE_SIGMA, TAPE_TOLERANCE, TAPE_CORNERS, TAPE_CONSTANTS,
    TAPE_CONTINUES, TAPE_FIELDS };

static const struct field tape_fields[TAPE_FIELDS] = {
    { KEY("rows"), take_taped, offsetof(struct tape_draft, rows), true, NULL, 0 },
    { KEY("date"), take_date, offsetof(struct tape_draft, tape.date), false, NULL, 0 },
    { KEY("tape"), take_text, offsetof(struct tape_draft, tape.tape), false, NULL, 0 },
    { KEY("crew"), take_text, offsetof(struct tape_draft, tape.crew), false, NULL, 0 },
    { KEY("note"), take_text, offsetof(struct tape_draft, tape.note), false, NULL, 0 },
    { KEY("sigma"), take_sigma, offsetof(struct tape_draft, tape.sigma), false, NULL, 0 },
    { KEY("tolerance"), take_likely, offsetof(struct tape_draft, tape.tolerance), false, NULL, LIKELY_TOLERANCE },
    { KEY("corners"), take_corners, offsetof(struct tape_draft, tape.corner), false, NULL, 0 },
    { KEY("constants"), take_constants, offsetof(struct tape_draft, tape), false, NULL, 0 },
    { KEY("continues"), take_count, offsetof(struct tape_draft, tape.continues), false, NULL, 0 },
};

void
take_tape(struct reader *in, void *at, const struct field *field)
{
    struct tape_draft draft = { .tape = { .entry = in->entry, .date = RECORD_NONE, .tape = RECORD_NONE, .crew = RECORD_NONE,
        .note = RECORD_NONE, .corner = { RECORD_NONE, RECORD_NONE, RECORD_NONE, RECORD_NONE }, .head = (uint32_t)in->r->tapes } };
    struct seen seen;
    struct record_entry *entry = &in->r->entry[in->entry];
    size_t first = in->r->tapeds;
    (void)at;
    (void)fields_read(in, tape_fields, TAPE_FIELDS, &draft, field->key, &seen);
    entry->first = (uint32_t)first;
    entry->rows = (uint32_t)(in->r->tapeds - first);
    draft.tape.place = seen.start;
    draft.tape.continues_place = seen_field(&seen, TAPE_CONTINUES) ? seen.at[TAPE_CONTINUES] : seen.start;
    if (draft.tape.sigma > 1)
        diag_say(in->d, DIAG_ERROR, seen.at[TAPE_SIGMA], "range", "sigma: more than 1 m is no standard deviation of a taped length");
    if (!make_room(in, tape, tape_room, tapes))
        return;
    entry->head = (uint32_t)in->r->tapes;
    in->r->tape[in->r->tapes++] = draft.tape;
}

/* ---- once every entry is read ---- */

/* What a row says must have a use: a temperature without constants would be lost in silence. */
static void
check_uses(const struct record_tape *t, const struct record_taped *row, struct diag *d)
{
    const unsigned stretch = RECORD_TAPE_PULL | RECORD_TAPE_AREA | RECORD_TAPE_MODULUS;
    const unsigned warm = RECORD_TAPE_TEMP | RECORD_TAPE_EXPANSION;
    if ((row->has & RECORD_TAPED_TEMP) && (t->has & warm) != warm)
        diag_say(d, DIAG_ERROR, row->place, "tape-constants",
            "temp corrects nothing here: give constants: {temp: 68 F, expansion: 0.00000645 /F}, the tape's own (steel is so)");
    if (row->spans > 0 && (!(row->has & RECORD_TAPED_PULL) || !(t->has & RECORD_TAPE_WEIGHT)))
        diag_say(d, DIAG_ERROR, row->place, "tape-constants",
            "spans sag by pull and weight: give pull in the row, and weight with nominal in constants");
    if ((row->has & RECORD_TAPED_PULL) && row->spans == 0 && (t->has & stretch) != stretch)
        diag_say(d, DIAG_ERROR, row->place, "tape-constants",
            "pull corrects nothing here: give pull, area and modulus in constants, or the spans that hung");
}

/* What an entry that adds to another does not say is as there; another tape has constants of its own. */
static void
inherit(struct record_tape *t, const struct record_tape *from)
{
    bool same = t->tape == RECORD_NONE || t->tape == from->tape;
    if (same && t->has == 0 && t->nominal == 0) {
        t->has = from->has;
        t->nominal = from->nominal;
        t->actual = from->actual;
        t->weighed = from->weighed;
        t->temp = from->temp;
        t->pull = from->pull;
        t->weight = from->weight;
        t->area = from->area;
        t->modulus = from->modulus;
        t->expansion = from->expansion;
    }
    t->tape = t->tape == RECORD_NONE ? from->tape : t->tape;
    t->sigma = t->sigma > 0 ? t->sigma : from->sigma;
    t->tolerance = t->tolerance > 0 ? t->tolerance : from->tolerance;
}

/* Heads stand above what adds to them, so one step suffices. */
static void
join_tape(struct record *r, struct record_tape *t, struct diag *d)
{
    const struct record_entry *target = t->continues > 0 && t->continues <= t->entry ? &r->entry[t->continues - 1] : NULL;
    if (target && target->kind == RECORD_FAULTY && !target->torn)
        return;
    if (!target || target->kind != RECORD_TAPE || target->head == RECORD_NONE) {
        diag_say(d, DIAG_ERROR, t->continues_place, "continues", "entry %" PRIu32 " is no tape entry above this one", t->continues);
        return;
    }
    t->head = r->tape[target->head].head;
    inherit(t, &r->tape[t->head]);
}

void
join_tapes(struct record *r, struct diag *d)
{
    size_t errors = d->errors;
    for (uint32_t i = 0; i < r->tapes; i++)
        if (r->tape[i].continues > 0)
            join_tape(r, &r->tape[i], d);
    bool joined = d->errors == errors;
    for (uint32_t i = 0; joined && i < r->tapeds; i++)
        check_uses(&r->tape[r->taped[i].tape], &r->taped[i], d);
}
