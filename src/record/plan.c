/* plan.c - set-ups that are meant to be read */
#include "entries.h"

#include "rodbook/room.h"

#include <stdlib.h>

/* One name, as a sight of the set-up; field->word_count is what the rod stands on. */
static void
keep_sight(struct reader *in, const struct field *field)
{
    uint32_t name = RECORD_NONE;
    if (!wants_scalar(in, "a point, or a list of points") || !name_of_scalar(in, &name))
        return;
    if (make_room(in, plan_sight, plan_sight_room, plan_sights))
        in->r->plan_sight[in->r->plan_sights++] = (struct record_plan_sight){ name, (enum record_on)field->word_count };
}

static void
take_sights(struct reader *in, void *at, const struct field *field)
{
    (void)at;
    if (in->e.event.type == YAML_SCALAR_EVENT) {
        keep_sight(in, field);
        return;
    }
    struct diag_place place = events_place(&in->e);
    size_t before = in->r->plan_sights, errors = in->d->errors;
    if (!wants_list(in, "a point, or a list of points"))
        return;
    while (events_next(&in->e) && in->e.event.type != YAML_SEQUENCE_END_EVENT)
        keep_sight(in, field);
    if (!in->e.dead && in->r->plan_sights == before && in->d->errors == errors)
        diag_say(in->d, DIAG_ERROR, place, "missing-value", "%s names no point; name one, or leave %s out", field->key, field->key);
}

enum { SETUP_FROM, SETUP_TO, SETUP_DIST, SETUP_MARK, SETUP_BATTEN, SETUP_GROUND, SETUP_HOLE, SETUP_POST, SETUP_TOP, SETUP_FIELDS };

static const struct field setup_fields[SETUP_FIELDS] = {
    { KEY("from"), take_name, offsetof(struct record_plan_setup, from), true, NULL, 0 },
    { KEY("to"), take_name, offsetof(struct record_plan_setup, to), false, NULL, 0 },
    { KEY("dist"), take_distance, offsetof(struct record_plan_setup, dist), false, NULL, 0 },
    { KEY("mark"), take_sights, 0, false, NULL, RECORD_ON_MARK },
    { KEY("batten"), take_sights, 0, false, NULL, RECORD_ON_BATTEN },
    { KEY("ground"), take_sights, 0, false, NULL, RECORD_ON_GROUND },
    { KEY("hole"), take_sights, 0, false, NULL, RECORD_ON_HOLE },
    { KEY("post"), take_sights, 0, false, NULL, RECORD_ON_POST },
    { KEY("top"), take_sights, 0, false, NULL, RECORD_ON_TOP },
};

static void
take_setups(struct reader *in, void *at, const struct field *field)
{
    struct diag_place place = events_place(&in->e);
    size_t first = in->r->plan_setups;
    (void)at;
    (void)field;
    if (!wants_list(in, "setups wants a list: - {from: BM1, batten: [SW1, SW2], to: TP1}"))
        return;
    while (events_next(&in->e) && in->e.event.type != YAML_SEQUENCE_END_EVENT) {
        struct record_plan_setup s = { .from = RECORD_NONE, .to = RECORD_NONE, .dist = -1, .first = (uint32_t)in->r->plan_sights };
        struct seen seen;
        bool whole = fields_read(in, setup_fields, SETUP_FIELDS, &s, "a set-up", &seen);
        s.place = seen.start;
        s.sights = (uint32_t)in->r->plan_sights - s.first;
        if (whole && !seen.faulty && seen.bits >> SETUP_MARK == 0 && !seen_field(&seen, SETUP_TO))
            diag_say(in->d, DIAG_ERROR, seen.start, "plan-sights", "this set-up reads nothing ahead; give to, or points: batten: [SW1, SW2]");
        if (!whole || !make_room(in, plan_setup, plan_setup_room, plan_setups))
            return;
        in->r->plan_setup[in->r->plan_setups++] = s;
    }
    if (!in->e.dead && in->r->plan_setups == first)
        diag_say(in->d, DIAG_ERROR, place, "plan-sights", "a plan without set-ups reads nothing: - {from: BM1, batten: [SW1, SW2], to: TP1}");
}

void
take_plan(struct reader *in, void *at, const struct field *field)
{
    struct draft {
        uint32_t name, note;
    } draft = { RECORD_NONE, RECORD_NONE };
    static const struct field fields[] = {
        { KEY("setups"), take_setups, 0, true, NULL, 0 },
        { KEY("name"), take_text, offsetof(struct draft, name), false, NULL, 0 },
        { KEY("note"), take_text, offsetof(struct draft, note), false, NULL, 0 },
    };
    struct seen seen;
    size_t first = in->r->plan_setups;
    (void)at;
    if (!fields_read(in, fields, sizeof fields / sizeof fields[0], &draft, field->key, &seen))
        return;
    if (make_room(in, plan, plan_room, plans))
        in->r->plan[in->r->plans++] = (struct record_plan){ draft.name, in->entry, (uint32_t)first,
            (uint32_t)(in->r->plan_setups - first) };
}
