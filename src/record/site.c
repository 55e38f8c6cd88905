/* site.c - the building: footprint, posts, strings, battens */
#include "entries.h"
#include "measure.h"

#include <stdlib.h>
#include <string.h>

/* Bytes of a corner's or row's name: a blank, "string" or a number are added to it, and names have 80. */
#define STEM_MOST 70

/* What battens are set back by where nothing is stated: common practice, no source. Printed are 3 to 4 ft (NAVEDTRA 14069,
 * building layout), 1.2 m beyond the digging (CMHC, Canadian Wood-Frame House Construction), 6 to 10 ft (Kidder). */
#define USUAL_SET_BACK_FT (4 * LENGTH_FT)
#define USUAL_SET_BACK_M  (1200 * LENGTH_MM)

/* The name at hand, where another word can still be put behind it; RECORD_NONE: said. */
static uint32_t
stem_of_scalar(struct reader *in, const char *what)
{
    uint32_t name = RECORD_NONE;
    if (!wants_scalar(in, "a name"))
        return RECORD_NONE;
    if (events_length(&in->e) > STEM_MOST)
        complain(in, "name", "the name of a %s has %d bytes at most: other names are made of it", what, STEM_MOST);
    else
        (void)name_of_scalar(in, &name);
    return name;
}

/* ---- post and corners ---- */

static void
take_post(struct reader *in, void *at, const struct field *field)
{
    length *post = at; /* two of them */
    struct diag_place place = events_place(&in->e);
    size_t n = 0, errors = in->d->errors;
    if (in->e.event.type == YAML_SCALAR_EVENT) {
        take_likely(in, &post[0], field);
        post[1] = post[0];
        return;
    }
    if (!wants_list(in, "post wants the size of a post: 5-1/2 in, or along the length and across it: [3-1/2 in, 5-1/2 in]"))
        return;
    for (; events_next(&in->e) && in->e.event.type != YAML_SEQUENCE_END_EVENT; n++) {
        length spare = 0;
        take_likely(in, n < 2 ? &post[n] : &spare, field);
    }
    if (n != 2 && !in->e.dead && in->d->errors == errors)
        diag_say(in->d, DIAG_ERROR, place, "value-kind", "%s has %zu sizes; write one, or two: along the length and across it", field->key, n);
}

static void
take_corners(struct reader *in, void *at, const struct field *field)
{
    uint32_t *corner = at; /* four of them */
    struct diag_place place = events_place(&in->e);
    size_t n = 0, errors = in->d->errors;
    if (!wants_list(in, "corners wants four names: the first corner, along the length, opposite, along the width: [SW, SE, NE, NW]"))
        return;
    for (; events_next(&in->e) && in->e.event.type != YAML_SEQUENCE_END_EVENT; n++) {
        uint32_t name = stem_of_scalar(in, "corner");
        for (size_t i = 0; i < n && i < 4 && name != RECORD_NONE; i++)
            if (corner[i] == name)
                complain(in, "site-name", "%s names two corners; give each its own name", names_text(&in->r->names, name));
        if (n < 4)
            corner[n] = name;
    }
    if (n != 4 && !in->e.dead && in->d->errors == errors)
        diag_say(in->d, DIAG_ERROR, place, "value-kind", "%s has %zu names; a building has four corners", field->key, n);
}

/* ---- rows ---- */

enum { ROW_WALL, ROW_IN, ROW_SPACING, ROW_AT, ROW_FIELDS };

static void
take_places(struct reader *in, void *at, const struct field *field)
{
    struct record_site_row *row = at;
    (void)field;
    if (!wants_list(in, "at wants the places of the posts' centres: [4, 8]"))
        return;
    while (events_next(&in->e) && in->e.event.type != YAML_SEQUENCE_END_EVENT) {
        length v;
        if (!wants_scalar(in, "a length") || !length_of_scalar(in, &v))
            continue;
        if (!make_room(in, site_place, site_place_room, site_places))
            return;
        in->r->site_place[in->r->site_places++] = v;
        row->count++;
    }
}

static void
check_row(struct reader *in, struct record_site_row *row, uint32_t wall, const struct seen *seen)
{
    bool walled = seen_field(seen, ROW_WALL), spaced = seen_field(seen, ROW_SPACING);
    row->wall = walled ? (enum record_wall)wall : RECORD_WALL_INSIDE;
    row->in_place = seen_field(seen, ROW_IN) ? seen->at[ROW_IN] : row->place;
    row->list_place = spaced ? seen->at[ROW_SPACING] : seen_field(seen, ROW_AT) ? seen->at[ROW_AT] : row->place;
    if (seen->faulty)
        return;
    if (walled == seen_field(seen, ROW_IN))
        diag_say(in->d, DIAG_ERROR, seen->start, "site-row", walled
                ? "a row stands in a wall or inside, not both; leave wall or in out"
                : "a row stands in a wall, or inside so far from the front: wall: front, or in: 6 ft");
    if (spaced == seen_field(seen, ROW_AT))
        diag_say(in->d, DIAG_ERROR, seen->start, "site-row", spaced
                ? "a row has a spacing or a list of places, not both; leave spacing or at out"
                : "a row has a spacing, or a list of places: spacing: 6 ft, or at: [4 ft, 8 ft]");
}

/* The row's name is the current event. */
static bool
one_row(struct reader *in, struct record_site *site)
{
    static const char *const walls[] = { "front", "back", "start", "end" }; /* enum record_wall */
    struct draft {
        struct record_site_row row;
        uint32_t wall;
    } draft = { .row = { .first = (uint32_t)in->r->site_places, .place = events_place(&in->e) } };
    static const struct field fields[ROW_FIELDS] = {
        { KEY("wall"), take_word, offsetof(struct draft, wall), false, walls, 4 },
        { KEY("in"), take_distance, offsetof(struct draft, row.in), false, NULL, 0 },
        { KEY("spacing"), take_distance, offsetof(struct draft, row.spacing), false, NULL, 0 },
        { KEY("at"), take_places, offsetof(struct draft, row), false, NULL, 0 },
    };
    struct seen seen;
    in->key = "rows";
    draft.row.name = stem_of_scalar(in, "row");
    for (uint32_t i = site->first_row; i < in->r->site_rows && draft.row.name != RECORD_NONE; i++)
        if (in->r->site_row[i].name == draft.row.name) {
            complain(in, "duplicate-key", "%s is given twice", names_text(&in->r->names, draft.row.name));
            diag_say(in->d, DIAG_NOTE, in->r->site_row[i].place, NULL, "first given here");
            draft.row.name = RECORD_NONE;
        }
    if (!events_next(&in->e) || !fields_read(in, fields, ROW_FIELDS, &draft, "a row", &seen))
        return false;
    check_row(in, &draft.row, draft.wall, &seen);
    if (draft.row.name != RECORD_NONE && make_room(in, site_row, site_row_room, site_rows))
        in->r->site_row[in->r->site_rows++] = draft.row;
    return true;
}

static void
take_rows(struct reader *in, void *at, const struct field *field)
{
    struct record_site *site = at;
    struct diag_place place = events_place(&in->e);
    size_t count = 0;
    (void)field;
    if (!wants_mapping(in, "rows wants names with walls: A: {wall: front, spacing: 6 ft}"))
        return;
    for (; events_next(&in->e) && in->e.event.type != YAML_MAPPING_END_EVENT; count++)
        if (!one_row(in, site))
            return;
    if (count == 0 && !in->e.dead)
        diag_say(in->d, DIAG_ERROR, place, "missing-value", "rows names no row; name one, or leave rows out: A: {wall: front, spacing: 6 ft}");
    site->rows = (uint32_t)in->r->site_rows - site->first_row;
}

/* ---- doors ---- */

static void
take_doors(struct reader *in, void *at, const struct field *field)
{
    static const struct field fields[] = {
        { KEY("row"), take_name, offsetof(struct record_site_door, row), true, NULL, 0 },
        { KEY("from"), take_zero_or_more, offsetof(struct record_site_door, from), true, NULL, 0 },
        { KEY("to"), take_zero_or_more, offsetof(struct record_site_door, to), true, NULL, 0 },
    };
    struct record_site *site = at;
    (void)field;
    if (!wants_list(in, "doors wants a list: - {row: A, from: 4 ft, to: 8 ft}"))
        return;
    while (events_next(&in->e) && in->e.event.type != YAML_SEQUENCE_END_EVENT) {
        struct record_site_door door = { .row = RECORD_NONE };
        struct seen seen;
        size_t errors = in->d->errors;
        if (!fields_read(in, fields, 3, &door, "a door", &seen))
            return;
        door.place = seen.start;
        if (in->d->errors == errors && door.from >= door.to)
            diag_say(in->d, DIAG_ERROR, seen.start, "site-door", "a door's opening goes from the smaller place to the larger; exchange from and to");
        if (door.row != RECORD_NONE && make_room(in, site_door, site_door_room, site_doors))
            in->r->site_door[in->r->site_doors++] = door;
    }
    site->doors = (uint32_t)in->r->site_doors - site->first_door;
}

/* Every door's row is one of the entry's. */
static void
check_doors(struct reader *in, const struct record_site *site)
{
    enum { NAMES = 64 };
    const char *names[NAMES];
    size_t n = site->rows < NAMES ? site->rows : NAMES;
    for (size_t i = 0; i < n; i++)
        names[i] = names_text(&in->r->names, in->r->site_row[site->first_row + i].name);
    for (uint32_t i = site->first_door; i < site->first_door + site->doors; i++) {
        const struct record_site_door *door = &in->r->site_door[i];
        uint32_t k = site->first_row, end = site->first_row + site->rows;
        while (k < end && in->r->site_row[k].name != door->row)
            k++;
        if (k < end)
            continue;
        const char *name = names_text(&in->r->names, door->row), *near = text_nearest(name, strlen(name), names, n);
        diag_say(in->d, DIAG_ERROR, door->place, "site-door", "%s is no row of this entry%s%s; give the door a row that rows names", name,
            near ? "; nearest is " : "", near ? near : "");
    }
}

/* ---- the entry ---- */

enum { SITE_LENGTH, SITE_WIDTH, SITE_POST, SITE_NAILED, SITE_STRING, SITE_SET_BACK, SITE_CORNERS, SITE_ROWS, SITE_DOORS, SITE_NORTH, SITE_NOTE,
    SITE_FIELDS };

/* What is left out is what is usual. */
static void
fill_in(struct reader *in, struct record_site *site, const struct seen *seen)
{
    static const char *const usual[4] = { "K", "L", "M", "N" };
    site->has_string = seen_field(seen, SITE_STRING);
    site->has_set_back = seen_field(seen, SITE_SET_BACK);
    if (!site->has_string)
        site->string = site->post_along > site->post_across ? site->post_along : site->post_across;
    if (!site->has_set_back)
        site->set_back = in->r->job.unit == LENGTH_BARE_M ? USUAL_SET_BACK_M : USUAL_SET_BACK_FT;
    site->has_corners = seen_field(seen, SITE_CORNERS);
    site->has_north = seen_field(seen, SITE_NORTH);
    for (size_t i = 0; i < 4 && !site->has_corners; i++) {
        site->corner[i] = names_number(&in->r->names, usual[i], 1);
        in->no_memory |= site->corner[i] == TEXT_NONE;
    }
    site->post_place = seen_field(seen, SITE_POST) ? seen->at[SITE_POST] : site->place;
    site->string_place = site->has_string ? seen->at[SITE_STRING] : site->place;
    site->corners_place = site->has_corners ? seen->at[SITE_CORNERS] : site->place;
}

void
take_site(struct reader *in, void *at, const struct field *field)
{
    struct draft {
        struct record_site site;
        length post[2];
        uint32_t note;
    } draft = { .site = { .first_row = (uint32_t)in->r->site_rows, .first_door = (uint32_t)in->r->site_doors, .entry = in->entry,
                    .corner = { RECORD_NONE, RECORD_NONE, RECORD_NONE, RECORD_NONE } } };
    static const struct field fields[SITE_FIELDS] = {
        { KEY("length"), take_distance, offsetof(struct draft, site.along), true, NULL, 0 },
        { KEY("width"), take_distance, offsetof(struct draft, site.across), true, NULL, 0 },
        { KEY("post"), take_post, offsetof(struct draft, post), true, NULL, LIKELY_SECTION },
        { KEY("nailed"), take_zero_or_more, offsetof(struct draft, site.nailed), false, NULL, LIKELY_NAILED },
        { KEY("string"), take_zero_or_more, offsetof(struct draft, site.string), false, NULL, 0 },
        { KEY("set-back"), take_distance, offsetof(struct draft, site.set_back), false, NULL, 0 },
        { KEY("corners"), take_corners, offsetof(struct draft, site.corner), false, NULL, 0 },
        { KEY("rows"), take_rows, offsetof(struct draft, site), false, NULL, 0 },
        { KEY("doors"), take_doors, offsetof(struct draft, site), false, NULL, 0 },
        { KEY("north"), take_bearing, offsetof(struct draft, site.north), false, NULL, 0 },
        { KEY("note"), take_text, offsetof(struct draft, note), false, NULL, 0 },
    };
    struct seen seen;
    (void)at;
    draft.site.place = events_place(&in->e);
    if (!fields_read(in, fields, SITE_FIELDS, &draft, field->key, &seen))
        return;
    draft.site.post_along = draft.post[0];
    draft.site.post_across = draft.post[1];
    fill_in(in, &draft.site, &seen);
    check_doors(in, &draft.site);
    if (make_room(in, site, site_room, sites))
        in->r->site[in->r->sites++] = draft.site;
}
