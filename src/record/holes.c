/* holes.c - what holes and posts are to be */
#include "entries.h"

#include <stdlib.h>

static const char *const from_words[] = { "ground", "grade" }; /* enum record_depth_from */
static const char *const to_words[] = { "bottom", "top" };     /* enum record_depth_to */

/* What may stand for all posts, and for one. Needed keys: none, for each may stand in an earlier entry. */
#define HOLE_KEYS(type)                                                                  \
    { KEY("depth"), take_likely, offsetof(type, depth), false, NULL, LIKELY_DEPTH },     \
        { KEY("from"), take_word, offsetof(type, from), false, from_words, 2 },          \
        { KEY("to"), take_word, offsetof(type, to), false, to_words, 2 },                \
        { KEY("grade"), take_name, offsetof(type, grade), false, NULL, 0 },              \
        { KEY("footing"), take_zero_or_more, offsetof(type, footing), false, NULL, LIKELY_FOOTING }, \
        { KEY("diameter"), take_likely, offsetof(type, diameter), false, NULL, LIKELY_ACROSS }, \
        { KEY("post-length"), take_likely, offsetof(type, post_length), false, NULL, LIKELY_POST }, \
        { KEY("top"), take_zero_or_more, offsetof(type, top), false, NULL, LIKELY_POST },     \
        { KEY("source"), take_text, offsetof(type, source), false, NULL, 0 },

struct hole_draft {
    length depth, footing, diameter, post_length, top;
    uint32_t from, to, grade, source, note;
};

static const struct hole_draft nothing = { -1, -1, -1, -1, -1, UINT32_MAX, UINT32_MAX, RECORD_NONE, RECORD_NONE, RECORD_NONE };

static struct record_hole
hole_of(const struct reader *in, const struct hole_draft *d, uint32_t post, struct diag_place place)
{
    return (struct record_hole){ .post = post, .depth = d->depth, .from = d->from == UINT32_MAX ? -1 : (int)d->from,
        .to = d->to == UINT32_MAX ? -1 : (int)d->to, .footing = d->footing, .diameter = d->diameter, .post_length = d->post_length,
        .top = d->top, .grade = d->grade, .source = d->source, .entry = in->entry, .place = place };
}

static void
keep(struct reader *in, const struct record_hole *hole)
{
    if (make_room(in, hole, hole_room, holes))
        in->r->hole[in->r->holes++] = *hole;
}

static bool
one_post(struct reader *in)
{
    static const struct field fields[] = { HOLE_KEYS(struct hole_draft) };
    struct hole_draft draft = nothing;
    struct diag_place place = events_place(&in->e);
    uint32_t name;
    struct seen seen;
    if (!name_then_value(in, "posts", &name) || !fields_read(in, fields, sizeof fields / sizeof fields[0], &draft, "a post", &seen))
        return false;
    if (name == RECORD_NONE || !is_new_name(in, name, place))
        return true;
    struct record_hole hole = hole_of(in, &draft, name, place);
    keep(in, &hole);
    return true;
}

static void
take_posts(struct reader *in, void *at, const struct field *field)
{
    (void)at;
    (void)field;
    each_named(in, "posts wants names with what differs there: A1: {depth: 48 in}", one_post);
}

void
take_holes(struct reader *in, void *at, const struct field *field)
{
    static const struct field fields[] = {
        HOLE_KEYS(struct hole_draft)
        { KEY("posts"), take_posts, 0, false, NULL, 0 },
        { KEY("note"), take_text, offsetof(struct hole_draft, note), false, NULL, 0 },
    };
    struct hole_draft draft = nothing;
    struct diag_place place = events_place(&in->e);
    struct seen seen;
    (void)at;
    if (!fields_read(in, fields, sizeof fields / sizeof fields[0], &draft, field->key, &seen))
        return;
    struct record_hole hole = hole_of(in, &draft, RECORD_NONE, place);
    keep(in, &hole);
}
