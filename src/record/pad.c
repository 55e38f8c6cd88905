/* pad.c - the pad: what is dug and filled to a grade, and the stone on it */
#include "entries.h"

#include "measure.h"

#include <string.h>

/* Common practice, no source: at least 4 in of 3/4 to 1 in stone. Where lengths are metric that is 100 mm. */
#define STONE_LEAST (100 * LENGTH_MM)

/* Loose pumice is lighter, solid rock is heavier than this, kg/m3: beyond stands a wrong unit. */
#define DENSITY_LEAST 500
#define DENSITY_MOST 4000

/* ---- the stone ---- */

static void
take_density(struct reader *in, void *at, const struct field *field)
{
    struct record_pad *pad = at;
    double value;
    if (!density_of_scalar(in, field, &value))
        return;
    if (!(value >= DENSITY_LEAST && value <= DENSITY_MOST)) {
        complain(in, "range", "%s: %s is %.0f kg/m3, and stone has %d to %d; look at the unit", field->key, events_text(&in->e), value,
            DENSITY_LEAST, DENSITY_MOST);
        return;
    }
    pad->density = value;
    take_text(in, &pad->density_text, field);
}

/* ---- spots ---- */

static void
take_spots(struct reader *in, void *at, const struct field *field)
{
    struct record_pad *pad = at;
    struct diag_place place = events_place(&in->e);
    size_t errors = in->d->errors;
    if (!wants_list(in, "spots wants a list of points: [G1, G2, G3]"))
        return;
    while (events_next(&in->e) && in->e.event.type != YAML_SEQUENCE_END_EVENT) {
        uint32_t name = RECORD_NONE;
        if (!wants_scalar(in, "a list of points") || !name_of_scalar(in, &name))
            continue;
        for (uint32_t i = 0; i < pad->spots; i++)
            if (in->r->pad_spot[pad->first + i] == name) {
                complain(in, "duplicate-key", "%s is listed twice", names_text(&in->r->names, name));
                break;
            }
        if (make_room(in, pad_spot, pad_spot_room, pad_spots)) {
            in->r->pad_spot[in->r->pad_spots++] = name;
            pad->spots++;
        }
    }
    if (!in->e.dead && pad->spots == 0 && in->d->errors == errors)
        diag_say(in->d, DIAG_ERROR, place, "missing-value", "%s lists no point; leave it out for all ground that was read", field->key);
}

/* ---- the entry ---- */

enum { PAD_GRADE, PAD_LEVEL, PAD_SPOTS, PAD_METHOD, PAD_X, PAD_Y, PAD_LENGTH, PAD_WIDTH, PAD_MARGIN, PAD_STONE, PAD_DENSITY,
    PAD_SOURCE, PAD_SWELL, PAD_NOTE, PAD_FIELDS };

/* Keys of a pad that has an area of its own. */
#define PAD_OWN_AREA (1U << PAD_X | 1U << PAD_Y | 1U << PAD_LENGTH | 1U << PAD_WIDTH)

struct pad_draft {
    struct record_pad pad;
    uint32_t method, note;
};

#define IN_PAD(member) offsetof(struct pad_draft, pad) + offsetof(struct record_pad, member)

static const char *const method_words[] = { "either", "squares", "triangles" }; /* enum record_pad_method */

static const struct field pad_fields[PAD_FIELDS] = {
    { KEY("grade"), take_name, IN_PAD(grade), false, NULL, 0 },
    { KEY("level"), take_length, IN_PAD(level), false, NULL, 0 },
    { KEY("spots"), take_spots, offsetof(struct pad_draft, pad), false, NULL, 0 },
    { KEY("method"), take_word, offsetof(struct pad_draft, method), false, method_words, 3 },
    { KEY("x"), take_length, IN_PAD(x), false, NULL, 0 },
    { KEY("y"), take_length, IN_PAD(y), false, NULL, 0 },
    { KEY("length"), take_distance, IN_PAD(along), false, NULL, 0 },
    { KEY("width"), take_distance, IN_PAD(across), false, NULL, 0 },
    { KEY("margin"), take_distance, IN_PAD(margin), false, NULL, 0 },
    { KEY("stone"), take_likely, IN_PAD(stone), false, NULL, LIKELY_STONE },
    { KEY("density"), take_density, offsetof(struct pad_draft, pad), false, NULL, 0 },
    { KEY("source"), take_text, IN_PAD(source), false, NULL, 0 },
    { KEY("swell"), take_percent, IN_PAD(swell), false, NULL, 0 },
    { KEY("note"), take_text, offsetof(struct pad_draft, note), false, NULL, 0 },
};

static void
check_grade(struct reader *in, const struct seen *seen)
{
    if (seen_field(seen, PAD_GRADE) == seen_field(seen, PAD_LEVEL))
        diag_say(in->d, DIAG_ERROR, seen->start, "pad-grade",
            seen_field(seen, PAD_GRADE) ? "a pad is dug to a grade or to a level of its own, not to both"
                                        : "a pad is dug to a grade, or to a level of its own: grade: NAME, or level: 101.17");
}

static void
check_area(struct reader *in, const struct seen *seen)
{
    bool along = seen_field(seen, PAD_LENGTH), across = seen_field(seen, PAD_WIDTH);
    bool corner = seen_field(seen, PAD_X) || seen_field(seen, PAD_Y);
    if (along != across)
        diag_say(in->d, DIAG_ERROR, seen->at[along ? PAD_LENGTH : PAD_WIDTH], "pad-area", "a pad has both length and width, or neither");
    else if (corner && !along)
        diag_say(in->d, DIAG_ERROR, seen->at[seen_field(seen, PAD_X) ? PAD_X : PAD_Y], "pad-area",
            "x and y place the corner of a pad that has length and width; give these too");
}

static void
check_stone(struct reader *in, const struct seen *seen)
{
    if (seen_field(seen, PAD_DENSITY) && !seen_field(seen, PAD_STONE))
        diag_say(in->d, DIAG_ERROR, seen->at[PAD_DENSITY], "missing-key", "a density needs the thickness of its stone: stone: 4 in");
}

void
take_pad(struct reader *in, void *at, const struct field *field)
{
    struct pad_draft draft = { .pad = { .grade = RECORD_NONE, .density_text = RECORD_NONE, .source = RECORD_NONE, .swell = -1 } };
    struct diag_place place = events_place(&in->e);
    struct seen seen;
    (void)at;
    draft.pad.first = (uint32_t)in->r->pad_spots;
    if (!fields_read(in, pad_fields, PAD_FIELDS, &draft, field->key, &seen))
        return;
    if (!seen.faulty) {
        check_grade(in, &seen);
        check_area(in, &seen);
        check_stone(in, &seen);
    }
    if (!make_room(in, pad, pad_room, pads))
        return;
    draft.pad.method = (enum record_pad_method)draft.method;
    draft.pad.bounded = seen_field(&seen, PAD_LENGTH) || seen_field(&seen, PAD_MARGIN);
    draft.pad.by_site = seen_field(&seen, PAD_MARGIN) && (seen.bits & PAD_OWN_AREA) == 0;
    draft.pad.entry = in->entry;
    draft.pad.place = place;
    draft.pad.grade_place = seen_field(&seen, PAD_GRADE) ? seen.at[PAD_GRADE] : place;
    draft.pad.stone_place = seen_field(&seen, PAD_STONE) ? seen.at[PAD_STONE] : place;
    draft.pad.margin_place = seen_field(&seen, PAD_MARGIN) ? seen.at[PAD_MARGIN] : place;
    draft.pad.spots_place = seen_field(&seen, PAD_SPOTS) ? seen.at[PAD_SPOTS] : place;
    in->r->pad[in->r->pads++] = draft.pad;
}

/* ---- once all is read ---- */

static void
resolve_grade(const struct record *r, const struct record_pad *pad, struct diag *d)
{
    enum { NAMES = 64 };
    const char *names[NAMES], *name = names_text(&r->names, pad->grade);
    size_t n = 0;
    for (size_t i = 0; i < r->grades; i++) {
        if (r->grade[i].name == pad->grade)
            return;
        if (n < NAMES)
            names[n++] = names_text(&r->names, r->grade[i].name);
    }
    const char *near = text_nearest(name, strlen(name), names, n);
    if (near)
        diag_say(d, DIAG_ERROR, pad->grade_place, "pad-grade", "no grade is named %s; nearest is %s", name, near);
    else
        diag_say(d, DIAG_ERROR, pad->grade_place, "pad-grade",
            "no grade is named %s; add one: grade: {name: %s, means: subgrade, level: ...}", name, name);
}

/* Of the last one alone: those before it hold no more, and nobody can mend them. */
void
resolve_pads(const struct record *r, struct diag *d)
{
    const struct record_pad *pad = r->pads > 0 ? &r->pad[r->pads - 1] : NULL;
    if (!pad)
        return;
    if (pad->grade != RECORD_NONE)
        resolve_grade(r, pad, d);
    if (pad->by_site && r->sites == 0)
        diag_say(d, DIAG_ERROR, pad->margin_place, "pad-area",
            "margin lies around the building, and the record has no site entry; give length and width of the pad");
    if (pad->stone > 0 && pad->stone < STONE_LEAST)
        diag_say(d, DIAG_WARNING, pad->stone_place, "stone-thin",
            "stone: common practice is at least 4 in (100 mm) of 3/4 to 1 in stone; thinner mixes with the ground");
}
