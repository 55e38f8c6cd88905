/* canvas.c - marks gathered on pages */
#include "canvas.h"

#include "rodbook/room.h"

#include <stdlib.h>
#include <string.h>

void
canvas_release(struct canvas *c)
{
    free(c->page);
    free(c->mark);
    free(c->place);
    free(c->bytes);
    *c = (struct canvas){ 0 };
}

/* Room for one more in an array of the canvas; false without memory, noted. */
static bool
room_one(struct canvas *c, void **array, size_t *room, size_t n, size_t size)
{
    void *grown = c->no_memory ? NULL : room_for(*array, room, n, size);
    if (!grown) {
        c->no_memory = true;
        return false;
    }
    *array = grown;
    return true;
}

/* A copy of the text; where it lies. */
static size_t
keep_text(struct canvas *c, const char *text)
{
    size_t n = strlen(text) + 1, at = c->used;
    if (c->no_memory)
        return CANVAS_NO_TEXT;
    if (n > c->bytes_room - c->used) {
        size_t room = c->bytes_room / 2 * 3 + n + 1024;
        char *grown = realloc(c->bytes, room);
        if (!grown) {
            c->no_memory = true;
            return CANVAS_NO_TEXT;
        }
        c->bytes = grown;
        c->bytes_room = room;
    }
    memcpy(c->bytes + at, text, n);
    c->used += n;
    return at;
}

struct canvas_state
canvas_keep(const struct canvas *c)
{
    struct canvas_state kept = { .pages = c->pages, .marks = c->marks, .places = c->places, .used = c->used };
    if (c->pages > 0)
        kept.last = c->page[c->pages - 1];
    return kept;
}

void
canvas_go_back(struct canvas *c, const struct canvas_state *kept)
{
    c->pages = kept->pages;
    c->marks = kept->marks;
    c->places = kept->places;
    c->used = kept->used;
    if (c->pages > 0)
        c->page[c->pages - 1] = kept->last;
}

const char *
canvas_words(const struct canvas *c, size_t at)
{
    return at == CANVAS_NO_TEXT ? "" : c->bytes + at;
}

void
canvas_turn(struct canvas *c, double width, double height, const char *title)
{
    while (c->depth > 0)
        canvas_group_end(c);
    size_t words = keep_text(c, title);
    if (room_one(c, (void **)&c->page, &c->page_room, c->pages, sizeof *c->page))
        c->page[c->pages++] = (struct canvas_page){ width, height, c->marks, 0, words, CANVAS_NO_TEXT, CANVAS_NO_TEXT };
}

void
canvas_describe(struct canvas *c, size_t page, const char *description)
{
    c->page[page].more = keep_text(c, description);
}

/* How far down a mark reaches. A text that is turned may stand on its end. */
static double
lowest_of(const struct canvas *c, const struct canvas_mark *m)
{
    double lowest = 0;
    if (m->kind == CANVAS_TEXT)
        return m->at.y + (m->turned != 0 ? m->width + m->size : m->size * CANVAS_DESCENDER);
    if (m->kind == CANVAS_CIRCLE)
        return m->at.y + m->size + m->pen.width / 2;
    for (size_t i = 0; m->kind == CANVAS_PATH && i < m->count; i++) {
        double y = c->place[m->first + i].y + m->pen.width / 2;
        lowest = y > lowest ? y : lowest;
    }
    return lowest;
}

void
canvas_crop(struct canvas *c, size_t page, double below)
{
    struct canvas_page *p = &c->page[page];
    double lowest = 0;
    for (size_t i = 0; i < p->marks; i++) {
        double y = lowest_of(c, &c->mark[p->first + i]);
        lowest = y > lowest ? y : lowest;
    }
    if (lowest + below < p->height)
        p->height = lowest + below;
}

static void
add(struct canvas *c, struct canvas_mark mark)
{
    if (!room_one(c, (void **)&c->mark, &c->mark_room, c->marks, sizeof *c->mark))
        return;
    c->mark[c->marks++] = mark;
    c->page[c->pages - 1].marks++;
}

void
canvas_path(struct canvas *c, struct canvas_pen pen, enum canvas_ink fill, bool closed, const struct canvas_place *at, size_t n)
{
    size_t first = c->places;
    for (size_t i = 0; i < n; i++) {
        if (!room_one(c, (void **)&c->place, &c->place_room, c->places, sizeof *c->place))
            return;
        c->place[c->places++] = at[i];
    }
    bool filled = fill != CANVAS_INKS;
    add(c, (struct canvas_mark){ .kind = CANVAS_PATH, .pen = pen, .filled = filled, .fill = fill, .closed = closed || filled,
        .first = first, .count = n, .text = CANVAS_NO_TEXT, .more = CANVAS_NO_TEXT });
}

void
canvas_line(struct canvas *c, struct canvas_pen pen, double x1, double y1, double x2, double y2)
{
    canvas_path(c, pen, CANVAS_INKS, false, (struct canvas_place[2]){ { x1, y1 }, { x2, y2 } }, 2);
}

void
canvas_box(struct canvas *c, struct canvas_pen pen, enum canvas_ink fill, double x, double y, double width, double height)
{
    const struct canvas_place at[4] = { { x, y }, { x + width, y }, { x + width, y + height }, { x, y + height } };
    canvas_path(c, pen, fill, true, at, 4);
}

void
canvas_circle(struct canvas *c, struct canvas_pen pen, enum canvas_ink fill, double x, double y, double radius)
{
    add(c, (struct canvas_mark){ .kind = CANVAS_CIRCLE, .pen = pen, .filled = fill != CANVAS_INKS, .fill = fill, .at = { x, y },
        .size = radius, .text = CANVAS_NO_TEXT, .more = CANVAS_NO_TEXT });
}

static void
set_text(struct canvas *c, struct canvas_type type, double x, double y, double width, const char *text)
{
    size_t words = keep_text(c, text);
    add(c, (struct canvas_mark){ .kind = CANVAS_TEXT, .pen = { 0, type.ink, CANVAS_SOLID }, .fill = type.ink, .at = { x, y },
        .size = type.size, .turned = type.turned, .width = width, .anchor = type.anchor, .bold = type.bold, .text = words,
        .more = CANVAS_NO_TEXT });
}

void
canvas_text(struct canvas *c, struct canvas_type type, double x, double y, const char *text)
{
    set_text(c, type, x, y, canvas_text_width(text, type.size, type.bold), text);
}

void
canvas_text_within(struct canvas *c, struct canvas_type type, double x, double y, double most, const char *text)
{
    double width = canvas_text_width(text, type.size, type.bold);
    set_text(c, type, x, y, width > most ? most : width, text);
}

void
canvas_text_later(struct canvas *c, struct canvas_type type, double x, double y)
{
    size_t at = c->marks;
    set_text(c, type, x, y, 0, "");
    if (!c->no_memory)
        c->page[c->pages - 1].later = at;
}

void
canvas_text_now(struct canvas *c, size_t page, const char *text)
{
    if (c->no_memory || c->page[page].later == CANVAS_NO_TEXT)
        return;
    size_t words = keep_text(c, text);
    struct canvas_mark *m = &c->mark[c->page[page].later];
    m->text = words;
    m->width = canvas_text_width(text, m->size, m->bold);
}

void
canvas_group(struct canvas *c, const char *title, const char *description)
{
    size_t words = keep_text(c, title), more = description ? keep_text(c, description) : CANVAS_NO_TEXT;
    add(c, (struct canvas_mark){ .kind = CANVAS_GROUP, .text = words, .more = more });
    c->depth++;
}

void
canvas_group_end(struct canvas *c)
{
    if (c->depth == 0)
        return;
    c->depth--;
    add(c, (struct canvas_mark){ .kind = CANVAS_GROUP_END, .text = CANVAS_NO_TEXT, .more = CANVAS_NO_TEXT });
}
