/* draw.c - a document of several figures, on a canvas and on paper */
#include "figures.h"

#include "canvas_out.h"

static const struct {
    enum sheet_figure bit;
    int (*draw)(struct pages *p);
} figures[] = {
    { SHEET_FIGURE_STAKES, figure_stakes },
};

static int
draw_once(const struct sheet_document *doc, const struct page_words *words, size_t total, struct canvas *c)
{
    struct pages p = pages_begin(c, doc, words, total);
    int rc = 0;
    for (size_t i = 0; rc == 0 && i < sizeof figures / sizeof figures[0]; i++)
        if (doc->figures & figures[i].bit)
            rc = figures[i].draw(&p);
    return c->no_memory ? -1 : rc;
}

int
figures_draw(const struct sheet_document *doc, struct canvas *c)
{
    struct page_words words;
    int rc = page_words_open(&words, doc);
    if (rc == 0)
        rc = draw_once(doc, &words, 0, c);
    size_t total = c->pages;
    canvas_release(c);
    if (rc == 0)
        rc = draw_once(doc, &words, total, c);
    page_words_release(&words);
    return rc;
}
