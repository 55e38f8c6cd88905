/* figure_text.c - sheets that are text and tables, on pages */
#include "figures.h"
#include "flow.h"
#include "texts.h"

/* A sheet of text begins where the one before it ended, if there is room: half a page stays empty for few words. */
static int
set(struct pages *p, const char *title, const struct capture *c)
{
    struct flow f;
    bool below = p->text;
    if (!below)
        pages_turn(p, title);
    int rc = flow_open(&f, p, c, 1);
    if (rc == 0 && below && flow_joins(&f, PAGE_JOIN))
        pages_join(p, title);
    else if (rc == 0 && below)
        pages_turn(p, title);
    if (rc == 0)
        flow_set(&f);
    flow_release(&f);
    p->text = true;
    return rc;
}

/* How the lines close is said once in a document: in the field book, or in the first sheet where that is not asked for. */
static void
drop_closures(struct pages *p, enum sheet_figure bit, struct capture *c)
{
    bool book = (p->doc->figures & SHEET_FIGURE_BOOK) != 0 && p->doc->job->r->runs > 0;
    if (bit != SHEET_FIGURE_BOOK && (book || p->closures))
        capture_drop(c, SHEET_CLOSURE);
    p->closures |= capture_find(c, SHEET_CLOSURE) < c->blocks;
}

static int
draw(struct pages *p, enum sheet_figure bit)
{
    const struct text_sheet *t = text_sheet_of(bit);
    struct capture c;
    int rc = text_sheet_take(t, p->doc, &c);
    if (rc == 0 && c.blocks > 0) {
        drop_closures(p, bit, &c);
        rc = set(p, t->title, &c);
    }
    capture_release(&c);
    return rc;
}

#define AIR_LEAST 1.5      /* points below a row: rows are 90 % as high then */
#define NEARLY_EMPTY 120.0 /* points of a page: a heading, the heads of a table, four rows and a note */
#define REDRAWN 2          /* sheets that are set anew to save a page... */
#define REDRAWN_PAGES 24   /* ...which matters little among more */

/* True where the last page is nearly empty, and few are there to be set anew. */
static bool
trails(const struct pages *p, const struct pages_kept *from)
{
    size_t pages = p->canvas->pages - from->canvas.pages;
    return pages > 0 && pages <= REDRAWN_PAGES && p->top - p->begin <= NEARLY_EMPTY;
}

static int
draw_all(struct pages *p, const enum sheet_figure *bit, size_t n, double air)
{
    int rc = 0;
    p->air = air;
    for (size_t i = 0; rc == 0 && i < n; i++)
        rc = draw(p, bit[i]);
    p->air = PAGE_AIR;
    return rc;
}

int
figure_texts(struct pages *p, const enum sheet_figure *bit, size_t n)
{
    size_t last = n > REDRAWN ? n - REDRAWN : 0;
    int rc = draw_all(p, bit, last, PAGE_AIR);
    struct pages_kept kept = pages_keep(p);
    if (rc == 0)
        rc = draw_all(p, bit + last, n - last, PAGE_AIR);
    size_t pages = p->canvas->pages;
    if (rc != 0 || p->canvas->no_memory || !trails(p, &kept))
        return rc;
    pages_go_back(p, &kept);
    rc = draw_all(p, bit + last, n - last, AIR_LEAST);
    if (rc != 0 || p->canvas->pages < pages)
        return rc;
    pages_go_back(p, &kept);
    return draw_all(p, bit + last, n - last, PAGE_AIR);
}
