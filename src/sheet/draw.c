/* draw.c - a document of several figures, on a canvas and on paper */
#include "figures.h"

#include "canvas_out.h"

#include <stdlib.h>

/* In the order of their pages. */
static const struct {
    enum sheet_figure bit;
    int (*draw)(struct pages *p); /* NULL: text and tables */
} figures[] = {
    { SHEET_FIGURE_STAKES, figure_stakes },
    { SHEET_FIGURE_PLAN, figure_plan },
    { SHEET_FIGURE_PROFILE, figure_profile },
    { SHEET_FIGURE_SITE, NULL },
    { SHEET_FIGURE_SQUARE, NULL },
    { SHEET_FIGURE_PAD, NULL },
    { SHEET_FIGURE_POSTS, NULL },
    { SHEET_FIGURE_CONCRETE, NULL },
    { SHEET_FIGURE_RUN, NULL },
    { SHEET_FIGURE_BOOK, NULL },
    { SHEET_FIGURE_RECORD, NULL },
    { SHEET_FIGURE_LOOPS, figure_loops },
};

#define FIGURES (sizeof figures / sizeof figures[0])

/* The sheets of text that are asked for, from figure `*i` on up to the next one that is drawn. */
static int
draw_texts(struct pages *p, size_t *i)
{
    enum sheet_figure bit[FIGURES];
    size_t n = 0;
    for (; *i < FIGURES && !figures[*i].draw; ++*i)
        if (p->doc->figures & figures[*i].bit)
            bit[n++] = figures[*i].bit;
    return figure_texts(p, bit, n);
}

int
figures_draw(const struct sheet_document *doc, struct canvas *c)
{
    struct page_words words;
    int rc = page_words_open(&words, doc);
    struct pages p = pages_begin(c, doc, &words);
    for (size_t i = 0; rc == 0 && i < FIGURES;) {
        if (!figures[i].draw)
            rc = draw_texts(&p, &i);
        else if (doc->figures & figures[i++].bit)
            rc = figures[i - 1].draw(&p);
    }
    pages_number(&p);
    page_words_release(&words);
    return c->no_memory ? -1 : rc;
}

/* ---- as others see it ---- */

struct sheet_drawing {
    struct canvas canvas;
    const struct record *r;
};

struct sheet_drawing *
sheet_draw(const struct sheet_document *doc)
{
    struct sheet_drawing *d = calloc(1, sizeof *d);
    if (!d)
        return NULL;
    d->r = doc->job->r;
    if (figures_draw(doc, &d->canvas) == 0)
        return d;
    sheet_drawing_free(d);
    return NULL;
}

void
sheet_drawing_free(struct sheet_drawing *d)
{
    if (!d)
        return;
    canvas_release(&d->canvas);
    free(d);
}

size_t
sheet_drawing_pages(const struct sheet_drawing *d)
{
    return d->canvas.pages;
}

/* When the record was last written to, as it says itself. */
static const char *
last_time(const struct record *r)
{
    for (size_t i = r->entries; i-- > 0;)
        if (r->entry[i].time != RECORD_NONE)
            return names_text(&r->texts, r->entry[i].time);
    return NULL;
}

static enum canvas_status
write_pdf(const struct sheet_drawing *d, FILE *out, const char **missing)
{
    const struct record_job *job = &d->r->job;
    const struct canvas_facts facts = { names_text(&d->r->texts, job->name),
        job->place == RECORD_NONE ? "" : names_text(&d->r->texts, job->place), last_time(d->r) };
    return canvas_pdf(&d->canvas, &facts, out, missing);
}

enum sheet_status
sheet_drawing_write(const struct sheet_drawing *d, enum sheet_form_of_drawing form, size_t page, FILE *out, const char **missing)
{
    static const enum sheet_status status[] = { [CANVAS_OK] = SHEET_OK, [CANVAS_EMEMORY] = SHEET_EMEMORY,
        [CANVAS_ENOLIBRARY] = SHEET_ENOLIBRARY, [CANVAS_EDRAW] = SHEET_EDRAW };
    switch (form) {
    case SHEET_PDF:
        return status[write_pdf(d, out, missing)];
    case SHEET_PNG:
        return status[canvas_png(&d->canvas, page, 150, out, missing)];
    case SHEET_SVG:
        break;
    }
    canvas_svg(&d->canvas, page, CANVAS_SVG_FILE, "page", out);
    return SHEET_OK;
}
