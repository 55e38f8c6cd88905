/* layout.c - a rectangular building: strings, battens, posts */
#include "rodbook/layout.h"

/* ---- distances ---- */

static length
nearest_root(length_wide square)
{
    length root = (length)__builtin_sqrt((double)square);
    while ((length_wide)root * root > square)
        root--;
    while ((length_wide)(root + 1) * (root + 1) <= square)
        root++;
    return square - (length_wide)root * root > root ? root + 1 : root; /* (root + 1/2)^2 is root^2 + root + 1/4 */
}

length
site_layout_distance(struct site_place a, struct site_place b)
{
    length dx = b.x - a.x, dy = b.y - a.y;
    return nearest_root((length_wide)dx * dx + (length_wide)dy * dy);
}

static length
clamped(length v, length most)
{
    return v < 0 ? 0 : v > most ? most : v;
}

length
site_layout_outside(const struct site_building *b, struct site_place at)
{
    return site_layout_distance(at, (struct site_place){ clamped(at.x, b->along), clamped(at.y, b->across) });
}

/* ---- rectangles and strings ---- */

enum site_layout_status
site_layout_fits(const struct site_building *b)
{
    if (!(b->along <= SITE_BUILDING_MOST && b->across <= SITE_BUILDING_MOST && b->string <= SITE_BUILDING_MOST
            && b->set_back <= SITE_BUILDING_MOST))
        return SITE_LAYOUT_ELARGE;
    if (!(b->nailed <= b->along && b->nailed <= b->across && b->post_along <= b->along && b->post_across <= b->across
            && 2 * (b->nailed + b->post_along) <= b->along && 2 * (b->nailed + b->post_across) <= b->across))
        return SITE_LAYOUT_ESMALL;
    return b->string - b->nailed < b->set_back ? SITE_LAYOUT_OK : SITE_LAYOUT_ESTRING;
}

struct site_outline
site_layout_outline(const struct site_building *b, enum site_outline_of of)
{
    length in = of == SITE_OF_FOOTPRINT ? 0 : of == SITE_OF_POSTS ? b->nailed : b->nailed - b->string;
    length x = b->along - in, y = b->across - in;
    struct site_outline r = { .corner = { { in, in }, { x, in }, { x, y }, { in, y } }, .along = x - in, .across = y - in };
    r.diagonal = site_layout_distance(r.corner[SITE_FIRST], r.corner[SITE_OPPOSITE]);
    return r;
}

static bool
runs_across(enum site_side side)
{
    return side == SITE_START || side == SITE_END;
}

struct site_string
site_layout_string(const struct site_building *b, enum site_side side, length in)
{
    static const uint8_t from[] = { SITE_FIRST, SITE_ACROSS, SITE_FIRST, SITE_ALONG, SITE_FIRST }; /* enum site_side */
    static const uint8_t to[] = { SITE_ALONG, SITE_OPPOSITE, SITE_ACROSS, SITE_OPPOSITE, SITE_ALONG };
    struct site_outline r = site_layout_outline(b, SITE_OF_STRINGS);
    struct site_string s = { r.corner[from[side]], r.corner[to[side]], runs_across(side) ? r.across : r.along };
    if (side == SITE_INSIDE)
        s.from.y = s.to.y = in - b->post_across / 2 - b->string;
    return s;
}

void
site_layout_battens(const struct site_building *b, struct site_batten batten[SITE_BATTENS])
{
    struct site_outline r = site_layout_outline(b, SITE_OF_STRINGS);
    for (uint32_t i = 0; i < SITE_BATTENS; i++) {
        uint32_t corner = i / 2;
        bool across = i % 2 == 1, right = corner == SITE_ALONG || corner == SITE_OPPOSITE, back = corner >= SITE_OPPOSITE;
        struct site_batten *one = &batten[i];
        *one = (struct site_batten){ .at = r.corner[corner], .corner = corner, .face = -b->nailed, .string = b->string - b->nailed,
            .apart = across ? r.along : r.across, .apart_footprint = across ? b->along : b->across };
        one->side = across ? (right ? SITE_END : SITE_START) : back ? SITE_BACK : SITE_FRONT;
        one->facing = 2 * (across ? (uint32_t[]){ 1, 0, 3, 2 }[corner] : SITE_CORNERS - 1 - corner) + across;
        if (across)
            one->at.y = back ? b->across + b->set_back : -b->set_back;
        else
            one->at.x = right ? b->along + b->set_back : -b->set_back;
        one->beyond = site_layout_distance(one->at, r.corner[corner]);
    }
}

/* ---- posts of a row, along it ---- */

/* A row as a line: how long it is, how thick its posts are along it. */
struct run {
    length size, post;
};

static struct run
run_of(const struct site_building *b, enum site_side side)
{
    return runs_across(side) ? (struct run){ b->across, b->post_across } : (struct run){ b->along, b->post_along };
}

size_t
site_layout_room(const struct site_building *b, const struct site_row *row, size_t doors)
{
    size_t own = row->count;
    if (row->spacing > 0) {
        length bays = run_of(b, row->side).size / row->spacing;
        own = bays < SITE_POSTS_MOST ? (size_t)bays + 1 : SITE_POSTS_MOST + 1;
    }
    return own <= SITE_POSTS_MOST && doors <= SITE_POSTS_MOST / 2 ? own + 2 * doors : SITE_POSTS_MOST + 1;
}

/* The low face of a post whose place is `at`. */
static length
low_face(const struct site_building *b, struct run run, length at)
{
    return at == 0 ? b->nailed : at == run.size ? run.size - b->nailed - run.post : at - run.post / 2;
}

static length
place_of(const struct site_row *row, size_t i)
{
    return row->spacing > 0 ? (length)i * row->spacing : row->at[i];
}

/* Whether a post can stand at a place. `before` is its neighbour's, or NULL. */
static enum site_layout_status
check_place(const struct site_building *b, struct run run, length at, const length *before)
{
    length low = low_face(b, run, at);
    if (at < 0 || at > run.size || low < b->nailed || low + run.post > run.size - b->nailed)
        return SITE_LAYOUT_EPLACE;
    if (before && at <= *before)
        return SITE_LAYOUT_EORDER;
    return before && low < low_face(b, run, *before) + run.post ? SITE_LAYOUT_EBAY : SITE_LAYOUT_OK;
}

static bool
is_in_opening(length low, length thick, const struct site_door *door)
{
    return low < door->to && low + thick > door->from;
}

/* Doors of the row: inside it, and clear of one another. */
static enum site_layout_status
check_doors(const struct site_building *b, struct run run, uint32_t index, const struct site_door *door, size_t doors,
    struct site_layout_fault *fault)
{
    for (uint32_t i = 0; i < doors; i++) {
        if (door[i].row != index)
            continue;
        if (!(door[i].from < door[i].to && door[i].from - run.post >= b->nailed && door[i].to + run.post <= run.size - b->nailed)) {
            *fault = (struct site_layout_fault){ .which = i, .other = i };
            return SITE_LAYOUT_EDOOR;
        }
        for (uint32_t k = 0; k < i; k++)
            if (door[k].row == index && door[i].from < door[k].to + run.post && door[k].from < door[i].to + run.post) {
                *fault = (struct site_layout_fault){ .which = i, .other = k };
                return SITE_LAYOUT_EDOORS;
            }
    }
    return SITE_LAYOUT_OK;
}

/* Along the row only, for now: low.x. In order; one that stands there already is let be. */
static void
insert_door_post(struct site_layout_post *post, size_t *n, length low, uint32_t row, uint32_t door)
{
    size_t i = *n;
    while (i > 0 && post[i - 1].low.x > low)
        i--;
    if (i > 0 && post[i - 1].low.x == low) {
        post[i - 1].door = door;
        return;
    }
    for (size_t k = *n; k > i; k--)
        post[k] = post[k - 1];
    post[i] = (struct site_layout_post){ .low = { low, 0 }, .row = row, .door = door };
    ++*n;
}

/* From along the row to places. */
static void
put_in_place(const struct site_building *b, const struct site_row *row, struct site_layout_post *post)
{
    length low = post->low.x;
    post->low = (struct site_place){ low, low };
    switch (row->side) {
    case SITE_FRONT:
        post->low.y = b->nailed;
        break;
    case SITE_BACK:
        post->low.y = b->across - b->nailed - b->post_across;
        break;
    case SITE_START:
        post->low.x = b->nailed;
        break;
    case SITE_END:
        post->low.x = b->along - b->nailed - b->post_along;
        break;
    case SITE_INSIDE:
        post->low.y = row->in - b->post_across / 2;
        break;
    }
    post->centre = (struct site_place){ post->low.x + b->post_along / 2, post->low.y + b->post_across / 2 };
}

static enum site_layout_status
check_row(const struct site_building *b, const struct site_row *row, struct run run, size_t count, struct site_layout_fault *fault)
{
    if (row->side == SITE_INSIDE
        && !(row->in - b->post_across / 2 >= b->nailed && row->in - b->post_across / 2 + b->post_across <= b->across - b->nailed)) {
        *fault = (struct site_layout_fault){ .value = row->in, .which = SITE_NONE };
        return SITE_LAYOUT_EPLACE;
    }
    if (row->spacing > 0 && run.size % row->spacing != 0) {
        *fault = (struct site_layout_fault){ .value = run.size % row->spacing };
        return SITE_LAYOUT_EREMAINDER;
    }
    for (size_t i = 0; i < count; i++) {
        length at = place_of(row, i), before = i > 0 ? place_of(row, i - 1) : 0;
        enum site_layout_status status = check_place(b, run, at, i > 0 ? &before : NULL);
        if (status == SITE_LAYOUT_OK)
            continue;
        if (status == SITE_LAYOUT_EPLACE && row->spacing > 0)
            status = SITE_LAYOUT_EBAY; /* corner posts always fit: the bay between is too narrow */
        *fault = (struct site_layout_fault){ .value = status == SITE_LAYOUT_EBAY ? at - before : at, .which = (uint32_t)i };
        return status;
    }
    return SITE_LAYOUT_OK;
}

enum site_layout_status
site_layout_row(const struct site_building *b, const struct site_row *row, uint32_t index, const struct site_door *door,
    size_t doors, struct site_layout_post *post, size_t *n, struct site_layout_fault *fault)
{
    struct run run = run_of(b, row->side);
    if (site_layout_room(b, row, doors) > SITE_POSTS_MOST)
        return SITE_LAYOUT_EMANY;
    size_t count = row->spacing > 0 ? (size_t)(run.size / row->spacing) + 1 : row->count, made = 0;
    enum site_layout_status status = check_row(b, row, run, count, fault);
    if (status == SITE_LAYOUT_OK)
        status = check_doors(b, run, index, door, doors, fault);
    if (status != SITE_LAYOUT_OK)
        return status;
    for (size_t i = 0; i < count; i++) {
        length low = low_face(b, run, place_of(row, i));
        bool clear = true;
        for (size_t k = 0; k < doors; k++)
            clear &= door[k].row != index || !is_in_opening(low, run.post, &door[k]);
        if (clear)
            post[made++] = (struct site_layout_post){ .low = { low, 0 }, .row = index, .door = SITE_NONE };
    }
    for (uint32_t k = 0; k < doors; k++) {
        if (door[k].row != index)
            continue;
        insert_door_post(post, &made, door[k].from - run.post, index, k);
        insert_door_post(post, &made, door[k].to, index, k);
    }
    for (size_t i = 0; i < made; i++)
        put_in_place(b, row, &post[i]);
    *n = made;
    return SITE_LAYOUT_OK;
}

/* ---- posts of all rows ---- */

static bool
is_same_place(struct site_place a, struct site_place b)
{
    return a.x == b.x && a.y == b.y;
}

static bool
is_spare(const struct site_layout_post *post, size_t n, size_t i)
{
    for (size_t k = 0; k < n && post[i].door != SITE_NONE; k++)
        if (post[k].row != post[i].row && is_same_place(post[k].low, post[i].low) && (post[k].door == SITE_NONE || k < i))
            return true;
    return false;
}

/* A spare post is marked by its row's number before any is taken out, so that each is held against all. */
size_t
site_layout_settle(struct site_layout_post *post, size_t n)
{
    size_t left = 0;
    for (size_t i = n; i-- > 0;)
        if (is_spare(post, n, i))
            post[i].row = SITE_NONE;
    for (size_t i = 0; i < n; i++)
        if (post[i].row != SITE_NONE)
            post[left++] = post[i];
    return left;
}

static bool
is_closer(length a, length b, length than)
{
    return (a < b ? b - a : a - b) < than;
}

size_t
site_layout_overlap(const struct site_building *b, const struct site_layout_post *post, size_t n, size_t from, size_t *other)
{
    for (size_t i = from; i < n; i++)
        for (size_t k = 0; k < i; k++)
            if (is_closer(post[i].low.x, post[k].low.x, b->post_along) && is_closer(post[i].low.y, post[k].low.y, b->post_across)) {
                *other = k;
                return i;
            }
    return n;
}

/* ---- posts on strings ---- */

/* Whether a post's outer face stands on the line of a wall's. */
static bool
is_on_wall(const struct site_building *b, enum site_side side, const struct site_layout_post *post)
{
    switch (side) {
    case SITE_FRONT:
        return post->low.y == b->nailed;
    case SITE_BACK:
        return post->low.y == b->across - b->nailed - b->post_across;
    case SITE_START:
        return post->low.x == b->nailed;
    case SITE_END:
        return post->low.x == b->along - b->nailed - b->post_along;
    case SITE_INSIDE:
        break;
    }
    return false;
}

/* A post on a string that begins `start` along its line; `door` is the one of that wall that it stands beside, or NULL. */
static struct site_mark
mark_of(const struct site_building *b, struct run run, const struct site_door *door, length start, length low)
{
    struct site_mark m = { .near = low - start, .centre = low + run.post / 2 - start, .far = low + run.post - start };
    bool first = low == b->nailed, last = low + run.post == run.size - b->nailed;
    m.to = first || last ? SITE_TO_OUTSIDE : door ? SITE_TO_INSIDE : SITE_TO_CENTRE;
    if (m.to == SITE_TO_CENTRE)
        m.mark = m.centre;
    else if (m.to == SITE_TO_OUTSIDE)
        m.mark = first ? m.near : m.far;
    else
        m.mark = low < door->from ? m.far : m.near;
    return m;
}

size_t
site_layout_marks(const struct site_building *b, enum site_side side, uint32_t row, const struct site_row *rows,
    const struct site_door *door, const struct site_layout_post *post, size_t n, struct site_mark *mark)
{
    struct run run = run_of(b, side);
    struct site_string string = site_layout_string(b, side, 0);
    size_t count = 0;
    for (uint32_t i = 0; i < n; i++) {
        if (side == SITE_INSIDE ? post[i].row != row : !is_on_wall(b, side, &post[i]))
            continue;
        bool across = runs_across(side);
        const struct site_door *of = post[i].door != SITE_NONE && rows[post[i].row].side == side ? &door[post[i].door] : NULL;
        struct site_mark m = mark_of(b, run, of, across ? string.from.y : string.from.x, across ? post[i].low.y : post[i].low.x);
        m.post = i;
        size_t at = count++;
        for (; at > 0 && mark[at - 1].near > m.near; at--)
            mark[at] = mark[at - 1];
        mark[at] = m;
    }
    return count;
}

void
site_layout_door_posts(const struct site_building *b, const struct site_row *row, const struct site_door *door,
    const struct site_layout_post *post, size_t n, uint32_t beside[2])
{
    struct run run = run_of(b, row->side);
    beside[0] = beside[1] = SITE_NONE;
    for (uint32_t i = 0; i < n; i++) {
        struct site_layout_post here = { .low = { runs_across(row->side) ? post[i].low.y : post[i].low.x, 0 } };
        length low = here.low.x;
        put_in_place(b, row, &here);
        if (!is_same_place(here.low, post[i].low))
            continue;
        if (low + run.post == door->from)
            beside[0] = i;
        if (low == door->to)
            beside[1] = i;
    }
}

/* ---- the check triangle ---- */

bool
site_layout_triangle(length along, length across, length step, struct site_check_triangle *t)
{
    length four_along = along / 4 < across / 3 ? along / 4 : across / 3;
    length three_along = along / 3 < across / 4 ? along / 3 : across / 4;
    bool four = four_along / step >= three_along / step;
    length times = (four ? four_along : three_along) / step;
    if (!(times >= 1))
        return false;
    *t = (struct site_check_triangle){ (four ? 4 : 3) * times * step, (four ? 3 : 4) * times * step, 5 * times * step };
    return true;
}
