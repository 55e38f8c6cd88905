/* names.c - names that are no points, where the record has points that they would be */
#include "rodbook/building.h"

#include "rodbook/room.h"

#include <stdlib.h>
#include <string.h>

/* What a name is, by the last row of it. */
enum { KNOWN = 1, PLACED = 2, POST = 4, GROUND = 8, HOLDS_POST = 16, SAID = 32, TAPED = 64 };

#define SAID_MOST 24 /* complaints of one kind: each looks through all names */

struct known {
    const struct record *r;
    struct diag *d;
    uint8_t *is;        /* [names] */
    const char **name;  /* [points] of those that have what is looked for */
    size_t posts, said;
};

static int
know(struct known *k, const struct record *r, struct diag *d)
{
    *k = (struct known){ .r = r, .d = d, .is = room_new(r->names.n, sizeof *k->is), .name = room_new(r->points, sizeof *k->name) };
    if (!k->is || !k->name)
        return -1;
    for (size_t i = 0; i < r->points; i++) {
        const struct record_point *p = &r->point[i];
        bool post = p->kind == RECORD_POINT_POST;
        k->is[p->name] = (uint8_t)(KNOWN | (p->placed ? PLACED : 0) | (post ? POST : 0) | (p->kind == RECORD_POINT_GROUND ? GROUND : 0)
            | (post || p->kind == RECORD_POINT_FOOTING || p->kind == RECORD_POINT_KINDS ? HOLDS_POST : 0));
    }
    for (size_t i = 0; i < r->points; i++)
        k->posts += (k->is[r->point[i].name] & POST) != 0;
    return 0;
}

/* The nearest name that is all of `what`; NULL. */
static const char *
nearest(const struct known *k, uint32_t name, unsigned what)
{
    const char *text = names_text(&k->r->names, name);
    size_t n = 0;
    for (size_t i = 0; i < k->r->points; i++)
        if ((k->is[k->r->point[i].name] & what) == what)
            k->name[n++] = names_text(&k->r->names, k->r->point[i].name);
    return text_nearest(text, strlen(text), k->name, n);
}

/* True the first time for a name, up to SAID_MOST of a kind. */
static bool
is_new(struct known *k, uint32_t name)
{
    if ((k->is[name] & SAID) != 0 || k->said == SAID_MOST)
        return false;
    k->is[name] |= SAID;
    k->said++;
    return true;
}

static void
forget_said(struct known *k)
{
    k->said = 0;
    for (uint32_t i = 0; i < k->r->names.n; i++)
        k->is[i] &= (uint8_t)~SAID;
}

/* ---- holes, and marks on posts ---- */

static bool
stands(const struct record_row *row)
{
    bool ahead = (row->flags & (RECORD_HAS_IS | RECORD_HAS_FS)) && !(row->flags & RECORD_STRUCK_AHEAD);
    return ahead || ((row->flags & RECORD_HAS_BS) && !(row->flags & RECORD_STRUCK_BS));
}

/* Read on post, what `points` does not name is a post all the same; but a site names all of its posts. */
static bool
wants_post(const struct known *k, const struct record_row *row)
{
    return row->on == RECORD_ON_HOLE || (row->on == RECORD_ON_POST && k->r->sites > 0);
}

static void
look_at_rows(struct known *k)
{
    for (size_t i = 0; k->posts > 0 && i < k->r->rows; i++) {
        const struct record_row *row = &k->r->row[i];
        if (!wants_post(k, row) || (k->is[row->at] & HOLDS_POST) != 0 || !stands(row)
            || !is_new(k, row->at))
            continue;
        const char *name = names_text(&k->r->names, row->at), *near = nearest(k, row->at, POST);
        const char *what = row->on == RECORD_ON_HOLE ? "the hole of" : "the mark on post";
        if (near)
            diag_say(k->d, DIAG_WARNING, record_row_place(row), "row-post",
                "%s %s was read, and %s is no post; nearest is %s: strike the row and book it again, or give %s in points: {kind: post}",
                what, name, name, near, name);
        else
            diag_say(k->d, DIAG_WARNING, record_row_place(row), "row-post",
                "%s %s was read, and %s is no post; strike the row and book it again, or give %s in points: {kind: post}", what, name,
                name, name);
    }
    forget_said(k);
}

/* ---- ends of taped lengths ---- */

static void
look_at_tape(struct known *k)
{
    for (size_t i = 0; i < k->r->tapeds; i++) {
        const struct record_taped *t = &k->r->taped[i];
        bool from = (k->is[t->from] & PLACED) != 0, to = (k->is[t->to] & PLACED) != 0;
        uint32_t name = from ? t->to : t->from;
        if (from == to || t->strike != RECORD_NONE || !is_new(k, name))
            continue;
        const char *text = names_text(&k->r->names, name), *near = nearest(k, name, PLACED);
        if (near)
            diag_say(k->d, DIAG_WARNING, t->place, "tape-name",
                "%s has no x and y, and what it is taped to has; nearest with a place is %s: strike the row and tape it again, or give %s "
                "in points", text, near, text);
        else
            diag_say(k->d, DIAG_WARNING, t->place, "tape-name",
                "%s has no x and y, and what it is taped to has; write the name as it is in site or points, or give it there", text);
    }
    forget_said(k);
}

/* Corners of a frame that nothing is taped to. */
static void
look_at_corners(struct known *k)
{
    for (size_t i = 0; i < k->r->tapeds; i++) {
        k->is[k->r->taped[i].from] |= TAPED;
        k->is[k->r->taped[i].to] |= TAPED;
    }
    for (size_t i = 0; i < k->r->tapes; i++) {
        const struct record_tape *t = &k->r->tape[i];
        for (int c = 0; c < 4 && t->corner[0] != RECORD_NONE; c++) {
            if ((k->is[t->corner[c]] & (TAPED | KNOWN)) != 0 || !is_new(k, t->corner[c]))
                continue;
            const char *text = names_text(&k->r->names, t->corner[c]), *near = nearest(k, t->corner[c], TAPED);
            diag_say(k->d, DIAG_WARNING, t->place, "tape-name", "corner %s is no point, and nothing is taped to it%s%s; write the name as the rows do",
                text, near ? "; nearest is " : "", near ? near : "");
        }
    }
    forget_said(k);
}

/* ---- spots of the pad ---- */

static void
look_at_pad(struct known *k)
{
    const struct record_pad *pad = k->r->pads > 0 ? &k->r->pad[k->r->pads - 1] : NULL;
    for (uint32_t i = 0; pad && i < pad->spots; i++) {
        uint32_t name = k->r->pad_spot[pad->first + i];
        if ((k->is[name] & PLACED) != 0 || !is_new(k, name))
            continue;
        const char *text = names_text(&k->r->names, name), *near = nearest(k, name, PLACED | GROUND);
        near = near ? near : nearest(k, name, PLACED);
        diag_say(k->d, DIAG_WARNING, pad->spots_place, "pad-name",
            "%s has no x and y%s%s; write the name as it is in points, or give it there: %s: {x: 3, y: 3, kind: ground}", text,
            near ? "; nearest with a place is " : "", near ? near : "", text);
    }
    forget_said(k);
}

int
job_names(const struct record *r, struct diag *d)
{
    struct known k;
    int rc = know(&k, r, d);
    if (rc == 0) {
        look_at_rows(&k);
        look_at_tape(&k);
        look_at_corners(&k);
        look_at_pad(&k);
    }
    free(k.is);
    free(k.name);
    return rc;
}
