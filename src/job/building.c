/* building.c - the site entry laid out, and its points among the record's */
#include "rodbook/building.h"

#include "rodbook/room.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NAME_ROOM 96     /* a name of 70 bytes, and what is put behind it */
#define LISTED 24        /* places that a complaint lists */
#define LIST_ROOM (LISTED * LENGTH_TEXT)

void
building_release(struct building *b)
{
    free(b->row);
    free(b->row_post);
    free(b->door);
    free(b->beside);
    free(b->post);
    free(b->point);
    free(b->string);
    free(b->mark);
    *b = (struct building){ .r = NULL };
}

/* ---- words ---- */

/* Feet and inches that show a length whole; else to 1/64 in. */
static struct length_style
in_inches(length v)
{
    struct length_style style = { LENGTH_AS_FT_IN, 0, 1 };
    while (style.parts < 64 && (length_wide)v * style.parts % LENGTH_IN != 0)
        style.parts *= 2;
    return style;
}

/* A length that can be written into the record again, with as few figures as show it whole: 5-1/2" and not 0.458333. */
static const char *
words_of(const struct building *b, length v, char out[LENGTH_TEXT])
{
    enum length_unit unit = b->r->job.unit;
    length whole = length_whole(unit), scale = 1;
    struct length_style style = { unit == LENGTH_BARE_M ? LENGTH_AS_M : LENGTH_AS_FT, 0, 0 };
    for (; style.places < 6 && (length_wide)v * scale % whole != 0; scale *= 10)
        style.places++;
    struct length_style inches = in_inches(v);
    bool shows = (length_wide)v * inches.parts % LENGTH_IN == 0;
    if (unit == LENGTH_BARE_FT_IN || (unit == LENGTH_BARE_FT && style.places > 3 && shows))
        style = inches;
    length_print(out, v, style);
    return out;
}

/* The same with its unit, for reading. */
static const char *
size_of(const struct building *b, length v, char out[LENGTH_TEXT])
{
    words_of(b, v, out);
    if (!strchr(out, '"'))
        stpcpy(out + strlen(out), b->r->job.unit == LENGTH_BARE_M ? " m" : " ft");
    return out;
}

static const struct record_site_row *
record_row_of(const struct building *b, size_t row)
{
    return &b->r->site_row[b->from->first_row + row];
}

static const char *
row_name(const struct building *b, size_t row)
{
    return names_text(&b->r->names, record_row_of(b, row)->name);
}

static void
post_name(const struct building *b, size_t post, char out[NAME_ROOM])
{
    uint32_t row = b->post[post].row;
    snprintf(out, NAME_ROOM, "%s%zu", row_name(b, row), post - b->row_post[row] + 1);
}

/* ---- what a row fell to ---- */

static length
size_of_row(const struct building *b, const struct site_row *row)
{
    return row->side == SITE_START || row->side == SITE_END ? b->site.across : b->site.along;
}

/* Places of a row with this spacing, as they can be written: [0, 5, 10, 12]. `first`, `last`: the corner posts too. */
static void
list_places(const struct building *b, const struct site_row *row, bool first, bool last, char out[LIST_ROOM])
{
    char word[LENGTH_TEXT];
    length size = size_of_row(b, row), at = first ? 0 : row->spacing;
    size_t n = 0;
    char *p = stpcpy(out, "[");
    for (; at < size; at += row->spacing, n++) {
        if (n < LISTED - 2)
            p = stpcpy(stpcpy(p, n > 0 ? ", " : ""), words_of(b, at, word));
        else if (n == LISTED - 2)
            p = stpcpy(p, ", ...");
    }
    if (last)
        p = stpcpy(stpcpy(p, n > 0 ? ", " : ""), words_of(b, size, word));
    stpcpy(p, "]");
}

static void
say_remainder(const struct building *b, size_t i, const struct site_layout_fault *fault, struct diag *d)
{
    const struct site_row *row = &b->row[i];
    char size[LENGTH_TEXT], spacing[LENGTH_TEXT], over[LENGTH_TEXT], list[LIST_ROOM];
    length bays = size_of_row(b, row) / row->spacing;
    size_of(b, size_of_row(b, row), size);
    size_of(b, row->spacing, spacing);
    list_places(b, row, true, true, list);
    if (bays == 0)
        diag_say(d, DIAG_ERROR, record_row_of(b, i)->list_place, "site-row",
            "row %s is %s long, less than its spacing of %s; write a smaller spacing, or the places of all posts: at: %s", row_name(b, i),
            size, spacing, list);
    else
        diag_say(d, DIAG_ERROR, record_row_of(b, i)->list_place, "site-row",
            "row %s: %s is %" PRId64 " bay%s of %s and %s over; write a spacing that leaves nothing over, or the places of all posts: at: %s",
            row_name(b, i), size, bays, bays == 1 ? "" : "s", spacing, size_of(b, fault->value, over), list);
}

static void
say_outside(const struct building *b, size_t i, const struct site_layout_fault *fault, struct diag *d)
{
    const struct site_row *row = &b->row[i];
    char at[LENGTH_TEXT], least[LENGTH_TEXT], most[LENGTH_TEXT];
    size_of(b, fault->value, at);
    if (fault->which == SITE_NONE) {
        length half = b->site.post_across / 2;
        diag_say(d, DIAG_ERROR, record_row_of(b, i)->in_place, "site-row",
            "row %s: in %s puts its posts outside the building's; a row inside lies from %s to %s", row_name(b, i), at,
            size_of(b, b->site.nailed + half, least),
            size_of(b, b->site.across - b->site.nailed - b->site.post_across + half, most));
        return;
    }
    diag_say(d, DIAG_ERROR, record_row_of(b, i)->list_place, "site-row",
        "row %s: a post at %s reaches beyond the corner posts' outer faces; %s and %s are the corner posts themselves, all others stand between",
        row_name(b, i), at, words_of(b, 0, least), size_of(b, size_of_row(b, row), most));
}

static void
say_bay(const struct building *b, size_t i, const struct site_layout_fault *fault, struct diag *d)
{
    const struct site_row *row = &b->row[i];
    char bay[LENGTH_TEXT], post[LENGTH_TEXT];
    bool across = row->side == SITE_START || row->side == SITE_END;
    diag_say(d, DIAG_ERROR, record_row_of(b, i)->list_place, "site-posts",
        "row %s: posts %s thick have no room in bay %" PRIu32 ", %s from place to place; space them wider, or leave one out", row_name(b, i),
        size_of(b, across ? b->site.post_across : b->site.post_along, post), fault->which, size_of(b, fault->value, bay));
}

static void
say_door(const struct building *b, const struct site_layout_fault *fault, bool pair, struct diag *d)
{
    const struct record_site_door *door = &b->r->site_door[b->from->first_door + fault->which];
    const struct site_row *row = &b->row[b->door[fault->which].row];
    bool across = row->side == SITE_START || row->side == SITE_END;
    length post = across ? b->site.post_across : b->site.post_along;
    char least[LENGTH_TEXT], most[LENGTH_TEXT];
    if (pair) {
        diag_say(d, DIAG_ERROR, door->place, "site-door", "this opening leaves no room for a post between it and another; move one of them");
        diag_say(d, DIAG_NOTE, b->r->site_door[b->from->first_door + fault->other].place, NULL, "the other one");
        return;
    }
    diag_say(d, DIAG_ERROR, door->place, "site-door",
        "an opening in row %s needs a post on both sides inside the corners: from %s or more, to %s or less", row_name(b, b->door[fault->which].row),
        size_of(b, b->site.nailed + post, least), size_of(b, size_of_row(b, row) - b->site.nailed - post, most));
}

static void
say_row(const struct building *b, size_t i, enum site_layout_status status, const struct site_layout_fault *fault, struct diag *d)
{
    char at[LENGTH_TEXT];
    switch (status) {
    case SITE_LAYOUT_EREMAINDER:
        say_remainder(b, i, fault, d);
        break;
    case SITE_LAYOUT_EBAY:
        say_bay(b, i, fault, d);
        break;
    case SITE_LAYOUT_EPLACE:
        say_outside(b, i, fault, d);
        break;
    case SITE_LAYOUT_EORDER:
        diag_say(d, DIAG_ERROR, record_row_of(b, i)->list_place, "site-row",
            "row %s: %s stands at or before the place listed ahead of it; list places from the row's beginning on, each once", row_name(b, i),
            size_of(b, fault->value, at));
        break;
    case SITE_LAYOUT_EDOOR:
    case SITE_LAYOUT_EDOORS:
        say_door(b, fault, status == SITE_LAYOUT_EDOORS, d);
        break;
    default:
        diag_say(d, DIAG_ERROR, record_row_of(b, i)->list_place, "site-row",
            "the building has more than %d posts with row %s; look for a spacing that is too small", SITE_POSTS_MOST, row_name(b, i));
    }
}

/* ---- rows and posts ---- */

static void
take_record(struct building *b, const struct record *r)
{
    const struct record_site *s = &r->site[r->sites - 1];
    *b = (struct building){ .r = r, .from = s,
        .site = { s->along, s->across, s->post_along, s->post_across, s->nailed, s->string, s->set_back } };
}

static int
take_rows(struct building *b)
{
    static const enum site_side side[] = { SITE_FRONT, SITE_BACK, SITE_START, SITE_END, SITE_INSIDE }; /* enum record_wall */
    const struct record *r = b->r;
    b->row = room_new(b->from->rows, sizeof *b->row);
    b->row_post = room_new((size_t)b->from->rows + 1, sizeof *b->row_post);
    b->door = room_new(b->from->doors, sizeof *b->door);
    b->beside = room_new(b->from->doors, sizeof *b->beside);
    if (!b->row || !b->row_post || !b->door || !b->beside)
        return -1;
    for (uint32_t i = 0; i < b->from->rows; i++) {
        const struct record_site_row *row = record_row_of(b, i);
        b->row[i] = (struct site_row){ side[row->wall], row->in, row->spacing, row->count > 0 ? &r->site_place[row->first] : NULL, row->count };
    }
    for (uint32_t i = 0; i < b->from->doors; i++) {
        const struct record_site_door *door = &r->site_door[b->from->first_door + i];
        uint32_t row = 0;
        while (row < b->from->rows && record_row_of(b, row)->name != door->row)
            row++;
        b->door[i] = (struct site_door){ row, door->from, door->to };
    }
    return 0;
}

/* Room for the posts of one row more; 1 where there are more posts than a building may have, -1 without memory. */
static int
room_for_row(struct building *b, size_t i)
{
    size_t most = site_layout_room(&b->site, &b->row[i], b->from->doors);
    if (most > SITE_POSTS_MOST || b->posts + most > SITE_POSTS_MOST)
        return 1;
    struct site_layout_post *grown = realloc(b->post, (b->posts + most + 1) * sizeof *grown);
    if (!grown)
        return -1;
    b->post = grown;
    return 0;
}

/* Posts of every row that fits; those that do not are said, where `d` is given. */
static int
place_posts(struct building *b, struct diag *d)
{
    for (uint32_t i = 0; i < b->from->rows; i++) {
        struct site_layout_fault fault = { 0 };
        size_t n = 0;
        int room = room_for_row(b, i);
        if (room < 0)
            return -1;
        enum site_layout_status status = room > 0 ? SITE_LAYOUT_EMANY
            : site_layout_row(&b->site, &b->row[i], i, b->door, b->from->doors, b->post + b->posts, &n, &fault);
        if (status != SITE_LAYOUT_OK && d)
            say_row(b, i, status, &fault, d);
        if (status == SITE_LAYOUT_OK && n == 0 && d)
            diag_say(d, DIAG_ERROR, record_row_of(b, i)->list_place, "site-row", "row %s has no post; list a place, or leave the row out",
                row_name(b, i));
        b->posts += n;
    }
    b->posts = b->posts > 0 ? site_layout_settle(b->post, b->posts) : 0;
    for (size_t i = 0; i < b->posts; i++)
        b->row_post[b->post[i].row + 1] = i + 1;
    for (uint32_t i = 0; i < b->from->rows; i++)
        if (b->row_post[i + 1] < b->row_post[i])
            b->row_post[i + 1] = b->row_post[i]; /* a row whose posts all are of others */
    return 0;
}

static bool
stands_alone(const struct building *b, size_t post)
{
    size_t other;
    return site_layout_overlap(&b->site, b->post, post + 1, post, &other) > post;
}

/* The places of a row whose corner posts another has; "" where that is not what is wrong. */
static void
list_others(const struct building *b, size_t post, char list[LIST_ROOM])
{
    uint32_t row = b->post[post].row;
    size_t first = b->row_post[row], last = b->row_post[row + 1] - 1;
    list[0] = '\0';
    if (b->row[row].spacing > 0 && (post == first || post == last))
        list_places(b, &b->row[row], stands_alone(b, first), stands_alone(b, last), list);
}

/* One complaint a row. */
static void
say_overlaps(const struct building *b, struct diag *d)
{
    uint32_t said = SITE_NONE;
    size_t other = 0;
    for (size_t i = 0; (i = site_layout_overlap(&b->site, b->post, b->posts, i, &other)) < b->posts; i++) {
        char name[NAME_ROOM], before[NAME_ROOM], list[LIST_ROOM];
        if (b->post[i].row == said)
            continue;
        said = b->post[i].row;
        post_name(b, i, name);
        post_name(b, other, before);
        if (b->post[i].door != SITE_NONE || b->post[other].door != SITE_NONE) {
            bool own = b->post[i].door != SITE_NONE;
            diag_say(d, DIAG_ERROR, b->r->site_door[b->from->first_door + b->post[own ? i : other].door].place, "site-posts",
                "%s, which stands beside this door, and %s stand in one another; move the door, or list the places without %s",
                own ? name : before, own ? before : name, own ? before : name);
            continue;
        }
        list_others(b, i, list);
        diag_say(d, DIAG_ERROR, record_row_of(b, said)->list_place, "site-posts", "%s and %s stand in one another; %s%s", name, before,
            list[0] ? "a corner post belongs to one row, so list this one's others: at: " : "move one of them, or leave it out", list);
    }
}

static void
say_size(const struct building *b, enum site_layout_status status, struct diag *d)
{
    char string[LENGTH_TEXT], back[LENGTH_TEXT];
    if (status == SITE_LAYOUT_ELARGE)
        diag_say(d, DIAG_ERROR, b->from->place, "range", "no building, string or set-back is longer than 10 km");
    else if (status == SITE_LAYOUT_ESMALL)
        diag_say(d, DIAG_ERROR, b->from->place, "site-size",
            "two corner posts and what is nailed outside them fill the building; look at length, width, post and nailed");
    else
        diag_say(d, DIAG_ERROR, b->from->string_place, "site-size",
            "the strings lie %s outside the footprint, no nearer than the battens' set-back of %s; bring them in, or state a larger set-back",
            size_of(b, b->site.string - b->site.nailed, string), size_of(b, b->site.set_back, back));
}

/* ---- points ---- */

/* Of names as the record has them; new ones only where `fresh` takes them. */
struct namer {
    struct building *b;
    struct names *fresh; /* NULL: all are there */
    bool no_memory;
};

static void
add_point(struct namer *n, enum building_part part, uint32_t stem, const char *behind, struct site_place at)
{
    static const enum record_point_kind kinds[] = { RECORD_POINT_CORNER, RECORD_POINT_BATTEN, RECORD_POINT_POST, RECORD_POINT_KINDS,
        RECORD_POINT_KINDS }; /* enum building_part */
    char name[NAME_ROOM];
    size_t bytes = (size_t)snprintf(name, sizeof name, "%s%s", names_text(&n->b->r->names, stem), behind);
    uint32_t number = n->fresh ? names_number(n->fresh, name, bytes) : names_find(&n->b->r->names, name, bytes);
    n->no_memory |= number == TEXT_NONE;
    n->b->point[n->b->points++] = (struct building_point){ number, part, at, kinds[part], RECORD_NONE };
}

static int
name_points(struct building *b, struct names *fresh)
{
    struct namer n = { b, fresh, false };
    const uint32_t *corner = b->from->corner;
    char number[NAME_ROOM];
    b->point = room_new(3 * (size_t)SITE_CORNERS + SITE_BATTENS + b->posts, sizeof *b->point);
    if (!b->point)
        return -1;
    for (int i = 0; i < SITE_CORNERS; i++)
        add_point(&n, BUILDING_CORNER, corner[i], "", b->outline[SITE_OF_FOOTPRINT].corner[i]);
    for (int i = 0; i < SITE_BATTENS; i++)
        add_point(&n, BUILDING_BATTEN, corner[i / 2], i % 2 ? "2" : "1", b->batten[i].at);
    b->first_post = b->points;
    for (size_t i = 0; i < b->posts; i++) {
        snprintf(number, sizeof number, "%zu", i - b->row_post[b->post[i].row] + 1);
        add_point(&n, BUILDING_POST, record_row_of(b, b->post[i].row)->name, number, b->post[i].centre);
    }
    for (int i = 0; i < SITE_CORNERS; i++)
        add_point(&n, BUILDING_STRING, corner[i], " string", b->outline[SITE_OF_STRINGS].corner[i]);
    for (int i = 0; i < SITE_CORNERS; i++)
        add_point(&n, BUILDING_FACE, corner[i], " post", b->outline[SITE_OF_POSTS].corner[i]);
    return n.no_memory ? -1 : 0;
}

/* The site's own complaint, for a point of it. */
static struct diag_place
place_of_point(const struct building *b, size_t i)
{
    if (b->point[i].part == BUILDING_POST)
        return record_row_of(b, b->post[i - b->first_post].row)->place;
    return b->from->corners_place;
}

static const char *const parts[] = { "a corner", "a batten", "a post", "where strings cross", "a corner of posts" }; /* enum building_part */

/* Names that the entry gives twice: one complaint for each place in it. */
static void
say_twice(const struct building *b, size_t *met, struct diag *d)
{
    struct diag_place said = { 0, 0 };
    for (size_t i = 0; i < b->points; i++) {
        const struct building_point *p = &b->point[i];
        struct diag_place place = place_of_point(b, i);
        bool again = place.line == said.line && place.column == said.column;
        if (met[p->name] > 0 && !again) {
            diag_say(d, DIAG_ERROR, place, "site-name", "%s would be the name of %s and of %s; give the %s another name",
                names_text(&b->r->names, p->name), parts[b->point[met[p->name] - 1].part], parts[p->part],
                p->part == BUILDING_POST ? "row" : "corner");
            said = place;
        }
        met[p->name] = i + 1;
    }
}

/* A mark that has the name of a corner or batten which the crew did not choose; the first is said. */
static void
say_mark(const struct building *b, const size_t *met, struct diag *d)
{
    for (size_t i = 0; i < b->r->marks; i++) {
        uint32_t name = b->r->mark[i].name;
        size_t point = met[name];
        if (point == 0 || point > b->points || b->point[point - 1].part == BUILDING_POST)
            continue;
        diag_say(d, DIAG_WARNING, b->from->place, "site-name",
            "%s is a mark, and as no corners are named here, %s too; name the four corners: corners: [SW, SE, NE, NW]",
            names_text(&b->r->names, name), parts[b->point[point - 1].part]);
        return;
    }
}

static int
check_names(const struct building *b, struct diag *d)
{
    size_t *met = room_new(b->r->names.n, sizeof *met); /* index + 1 */
    if (!met || !b->point) {
        free(met);
        return -1;
    }
    say_twice(b, met, d);
    if (!b->from->has_corners)
        say_mark(b, met, d);
    free(met);
    return 0;
}

/* ---- points among the record's ---- */

static bool
is_of_site(const struct record *r, const struct record_point *p)
{
    return r->entry[p->entry].kind == RECORD_SITE;
}

static int
put_points(struct record *r, const struct building *b)
{
    struct record_point *all = room_new(r->points + b->points, sizeof *all);
    uint8_t *given = room_new(r->names.n, sizeof *given);
    size_t n = 0;
    if (all && given) {
        for (size_t i = 0; i < r->points; i++)
            given[r->point[i].name] = 1;
        while (n < r->points && r->point[n].entry < b->from->entry) {
            all[n] = r->point[n];
            n++;
        }
        for (size_t i = 0; i < b->points; i++) {
            const struct building_point *p = &b->point[i];
            all[n + i] = (struct record_point){ p->name, p->at.x, p->at.y, true, given[p->name] == 0, p->kind, b->from->entry,
                place_of_point(b, i) };
        }
        for (size_t i = n; i < r->points; i++)
            all[b->points + i] = r->point[i];
        free(r->point);
        r->point = all;
        r->points = r->point_room = r->points + b->points;
        all = NULL;
    }
    int rc = given && !all ? 0 : -1;
    free(all);
    free(given);
    return rc;
}

/* Battens that a points entry puts nearer than the set-back, where that holds: counted, and said where `d` is given. */
static int
check_battens(struct building *b, struct diag *d)
{
    const struct record *r = b->r;
    char out[LENGTH_TEXT], back[LENGTH_TEXT];
    size_t *last = room_new(r->names.n, sizeof *last);
    uint8_t *batten = room_new(r->names.n, sizeof *batten);
    for (size_t i = 0; last && batten && i < r->points; i++) {
        const struct record_point *p = &r->point[i];
        last[p->name] = i;
        batten[p->name] |= p->kind == RECORD_POINT_BATTEN && is_of_site(r, p);
    }
    for (size_t i = 0; last && batten && i < r->points; i++) {
        const struct record_point *p = &r->point[i];
        bool is_batten = p->kind == RECORD_POINT_BATTEN || (p->kind == RECORD_POINT_KINDS && batten[p->name]);
        if (last[p->name] != i || !p->placed || is_of_site(r, p) || !is_batten)
            continue;
        length outside = site_layout_outside(&b->site, (struct site_place){ p->x, p->y });
        if (outside >= b->site.set_back)
            continue;
        b->near++;
        if (d && outside == 0)
            diag_say(d, DIAG_WARNING, p->place, "batten-near",
                "%s stands inside the footprint or on its line; set it %s or more outside, or state a smaller set-back in site",
                names_text(&r->names, p->name), size_of(b, b->site.set_back, back));
        else if (d)
            diag_say(d, DIAG_WARNING, p->place, "batten-near",
                "%s stands %s outside the footprint, nearer than the set-back of %s; set it farther out, or state a smaller set-back in site",
                names_text(&r->names, p->name), size_of(b, outside, out), size_of(b, b->site.set_back, back));
    }
    free(last);
    free(batten);
    return last && batten ? 0 : -1;
}

/* ---- all of it ---- */

/* What the site entry gives, up to its points; what does not fit is said, where `d` is given. */
static int
lay_out(struct building *b, struct names *fresh, struct diag *d)
{
    enum site_layout_status status = site_layout_fits(&b->site);
    size_t errors = d ? d->errors : 0;
    if (status != SITE_LAYOUT_OK) {
        if (d)
            say_size(b, status, d);
        return 0;
    }
    for (int i = 0; i < SITE_OUTLINES; i++)
        b->outline[i] = site_layout_outline(&b->site, (enum site_outline_of)i);
    site_layout_battens(&b->site, b->batten);
    if (take_rows(b) != 0 || place_posts(b, d) != 0)
        return -1;
    if (d && d->errors == errors)
        say_overlaps(b, d);
    if (d && d->errors > errors)
        return 0;
    return name_points(b, fresh);
}

int
job_building(struct record *r, struct diag *d)
{
    struct building b;
    size_t errors = d->errors;
    if (r->sites == 0)
        return 0;
    for (size_t i = 0; i < r->points; i++)
        if (is_of_site(r, &r->point[i]))
            return 0; /* they are there */
    take_record(&b, r);
    int rc = lay_out(&b, &r->names, d);
    if (rc == 0 && d->errors == errors)
        rc = check_names(&b, d);
    if (rc == 0 && d->errors == errors)
        rc = put_points(r, &b) == 0 ? check_battens(&b, d) : -1;
    building_release(&b);
    return rc;
}

/* The last place that a points entry gives each of the building's names, where it is another. */
static int
find_given(struct building *b)
{
    const struct record *r = b->r;
    uint32_t *last = room_new(r->names.n, sizeof *last); /* index + 1 */
    if (!last)
        return -1;
    for (size_t i = 0; i < r->points; i++)
        if (!is_of_site(r, &r->point[i]))
            last[r->point[i].name] = (uint32_t)i + 1;
    for (size_t i = 0; i < b->points; i++) {
        struct building_point *p = &b->point[i];
        const struct record_point *given = last[p->name] > 0 ? &r->point[last[p->name] - 1] : NULL;
        if (given && !(given->placed && given->x == p->at.x && given->y == p->at.y))
            p->given = last[p->name] - 1;
    }
    free(last);
    return 0;
}

/* Names of where a wall's string begins and ends: SITE_FIRST ... */
static uint32_t
crossing(const struct building *b, struct site_place at)
{
    for (size_t i = b->first_post + b->posts; i < b->first_post + b->posts + SITE_CORNERS; i++)
        if (b->point[i].at.x == at.x && b->point[i].at.y == at.y)
            return b->point[i].name;
    return RECORD_NONE;
}

static void
add_string(struct building *b, enum site_side side, uint32_t row)
{
    struct building_string *s = &b->string[b->strings++];
    *s = (struct building_string){ .side = side, .row = row, .from = RECORD_NONE, .to = RECORD_NONE, .first = b->marks };
    s->line = site_layout_string(&b->site, side, side == SITE_INSIDE ? b->row[row].in : 0);
    if (side == SITE_INSIDE) {
        s->off = s->line.from.y - b->outline[SITE_OF_STRINGS].corner[SITE_FIRST].y;
    } else {
        s->from = crossing(b, s->line.from);
        s->to = crossing(b, s->line.to);
    }
    s->marks = site_layout_marks(&b->site, side, row, b->row, b->door, b->post, b->posts, b->mark + b->marks);
    b->marks += s->marks;
}

int
building_work(struct building *b, const struct record *r)
{
    take_record(b, r);
    if (lay_out(b, NULL, NULL) != 0 || find_given(b) != 0 || check_battens(b, NULL) != 0)
        return -1;
    b->string = room_new((size_t)SITE_INSIDE + b->from->rows, sizeof *b->string);
    b->mark = room_new(3 * b->posts, sizeof *b->mark); /* a post is on the strings of two walls at most, and of its row */
    if (!b->string || !b->mark)
        return -1;
    for (int side = SITE_FRONT; side < SITE_INSIDE; side++)
        add_string(b, (enum site_side)side, SITE_NONE);
    for (uint32_t i = 0; i < b->from->rows; i++)
        if (b->row[i].side == SITE_INSIDE)
            add_string(b, SITE_INSIDE, i);
    for (uint32_t i = 0; i < b->from->doors; i++)
        site_layout_door_posts(&b->site, &b->row[b->door[i].row], &b->door[i], b->post, b->posts, b->beside[i]);
    b->has_triangle = site_layout_triangle(b->site.along, b->site.across, r->job.unit == LENGTH_BARE_M ? 100 * LENGTH_MM : LENGTH_FT,
        &b->triangle);
    return 0;
}
