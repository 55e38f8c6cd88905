/* concrete.c - what goes into the holes, and how it is ordered */
#include "entries.h"

#include "measure.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- the post in it ---- */

static void
take_round(struct reader *in, struct record_concrete *c)
{
    static const struct field fields[] = { { KEY("round"), take_likely, 0, true, NULL, LIKELY_SECTION } };
    length diameter = 0;
    struct seen seen;
    if (!fields_read(in, fields, 1, &diameter, "post", &seen) || diameter == 0)
        return;
    c->post_along = c->post_across = diameter;
    c->post_round = true;
}

/* 5-1/2 in, [3-1/2 in, 5-1/2 in], or {round: 2-3/8 in}. */
static void
take_post_size(struct reader *in, void *at, const struct field *field)
{
    struct record_concrete *c = at;
    length side[2] = { 0, 0 };
    size_t n = 0;
    if (in->e.event.type == YAML_MAPPING_START_EVENT) {
        take_round(in, c);
        return;
    }
    if (in->e.event.type != YAML_SEQUENCE_START_EVENT) {
        take_likely(in, &side[0], field);
        c->post_along = c->post_across = side[0];
        return;
    }
    struct diag_place place = events_place(&in->e);
    size_t errors = in->d->errors;
    for (; events_next(&in->e) && in->e.event.type != YAML_SEQUENCE_END_EVENT; n++)
        take_likely(in, &side[n < 2 ? n : 1], field);
    if (n == 2) {
        c->post_along = side[0];
        c->post_across = side[1];
    } else if (!in->e.dead && in->d->errors == errors) {
        diag_say(in->d, DIAG_ERROR, place, "post-size", "post lists %zu; write one side, or along and across: [3-1/2 in, 5-1/2 in]", n);
    }
}

/* ---- bell and collar ---- */

/* True where the current event opens a mapping, or is a key with no blank behind its colon, which fields_read() says. */
static bool
wants_keys(struct reader *in, const char *key, const char *example)
{
    char wanted[120];
    if (in->e.event.type == YAML_SCALAR_EVENT && memchr(events_text(&in->e), ':', events_length(&in->e)))
        return true;
    snprintf(wanted, sizeof wanted, "%s wants two keys with values: %s: %s", key, key, example);
    return wants_mapping(in, wanted);
}

struct wide {
    length diameter, height;
};

static void
take_wide(struct reader *in, void *at, const struct field *field)
{
    static const struct field fields[] = {
        { KEY("diameter"), take_likely, offsetof(struct wide, diameter), true, NULL, LIKELY_ACROSS },
        { KEY("height"), take_likely, offsetof(struct wide, height), true, NULL, LIKELY_HEIGHT },
    };
    struct seen seen;
    if (wants_keys(in, field->key, in->r->job.unit == LENGTH_BARE_M ? "{diameter: 600 mm, height: 300 mm}" : "{diameter: 24 in, height: 12 in}"))
        (void)fields_read(in, fields, 2, at, field->key, &seen);
}

/* ---- up to where ---- */

/* The length before `ending`; false where text does not end so. */
static bool
length_before(struct reader *in, const char *ending, length *value)
{
    const char *text = events_text(&in->e);
    size_t n = events_length(&in->e), m = strlen(ending);
    return n > m && strcmp(text + n - m, ending) == 0 && length_read(text, n - m, in->r->job.unit, value) == LENGTH_OK && *value > 0;
}

static void
take_fill(struct reader *in, void *at, const struct field *field)
{
    struct record_concrete *c = at;
    length by = 0;
    if (!wants_scalar(in, "to ground, a length below ground, or a length thick"))
        return;
    const char *text = events_text(&in->e);
    if (strcmp(text, "to ground") == 0)
        c->fill = RECORD_FILL_TO_GROUND;
    else if (length_before(in, " below ground", &by))
        c->fill = RECORD_FILL_BELOW_GROUND;
    else if (length_before(in, " thick", &by))
        c->fill = RECORD_FILL_THICK;
    else
        complain(in, "fill", "%s: %s says not up to where; write to ground, 4 in below ground, or 12 in thick", field->key,
            text_is_plain(text, strlen(text)) && strlen(text) < 40 ? text : "this");
    size_t ending = c->fill == RECORD_FILL_THICK ? strlen(" thick") : strlen(" below ground");
    if (by > 0 && !is_likely(in, field->key, events_length(&in->e) - ending, by, c->fill == RECORD_FILL_THICK ? LIKELY_HEIGHT : LIKELY_FILL))
        return;
    c->fill_by = by;
}

/* ---- bags and loads ---- */

static void
take_bag(struct reader *in, void *at, const struct field *field)
{
    static const struct field fields[] = {
        { KEY("yield"), take_volume, offsetof(struct record_concrete, bag_yield), true, NULL, 0 },
        { KEY("mass"), take_mass, offsetof(struct record_concrete, bag_mass), true, NULL, 0 },
    };
    struct seen seen;
    if (wants_keys(in, field->key, in->r->job.unit == LENGTH_BARE_M ? "{yield: 9.5 L, mass: 20 kg}" : "{yield: 0.60 ft3, mass: 80 lb}"))
        (void)fields_read(in, fields, 2, at, field->key, &seen);
}

/* ---- the entry ---- */

static const char *const footing_words[] = { "poured", "laid" }; /* enum record_footing */

struct concrete_draft {
    struct record_concrete c;
    struct wide bell, collar;
    uint32_t footing, note;
};

enum { CONCRETE_FILL, CONCRETE_POST, CONCRETE_BELL, CONCRETE_COLLAR, CONCRETE_FOOTING, CONCRETE_WASTE, CONCRETE_BAG, CONCRETE_STEP,
    CONCRETE_BULKING, CONCRETE_SLUMP, CONCRETE_NOTE, CONCRETE_FIELDS };

#define IN_C(member) offsetof(struct concrete_draft, c) + offsetof(struct record_concrete, member)

static const struct field concrete_fields[CONCRETE_FIELDS] = {
    { KEY("fill"), take_fill, offsetof(struct concrete_draft, c), true, NULL, 0 },
    { KEY("post"), take_post_size, offsetof(struct concrete_draft, c), false, NULL, LIKELY_SECTION },
    { KEY("bell"), take_wide, offsetof(struct concrete_draft, bell), false, NULL, 0 },
    { KEY("collar"), take_wide, offsetof(struct concrete_draft, collar), false, NULL, 0 },
    { KEY("footing"), take_word, offsetof(struct concrete_draft, footing), false, footing_words, 2 },
    { KEY("waste"), take_percent, IN_C(waste), false, NULL, 0 },
    { KEY("bag"), take_bag, offsetof(struct concrete_draft, c), false, NULL, 0 },
    { KEY("step"), take_volume, IN_C(step), false, NULL, 0 },
    { KEY("bulking"), take_percent, IN_C(bulking), false, NULL, 0 },
    { KEY("slump"), take_likely, IN_C(slump), false, NULL, LIKELY_SLUMP },
    { KEY("note"), take_text, offsetof(struct concrete_draft, note), false, NULL, 0 },
};

void
take_concrete(struct reader *in, void *at, const struct field *field)
{
    struct concrete_draft draft = { .c = { .footing = -1, .waste = -1, .bulking = -1 }, .footing = UINT32_MAX };
    struct diag_place place = events_place(&in->e);
    struct seen seen;
    (void)at;
    if (!fields_read(in, concrete_fields, CONCRETE_FIELDS, &draft, field->key, &seen) || !make_room(in, concrete, concrete_room, concretes))
        return;
    struct record_concrete *c = &in->r->concrete[in->r->concretes++];
    *c = draft.c;
    c->bell_diameter = draft.bell.diameter;
    c->bell_height = draft.bell.height;
    c->collar_diameter = draft.collar.diameter;
    c->collar_height = draft.collar.height;
    c->footing = draft.footing == UINT32_MAX ? -1 : (int)draft.footing;
    c->entry = in->entry;
    c->place = place;
}
