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

int
figure_text(struct pages *p, enum sheet_figure bit)
{
    const struct text_sheet *t = text_sheet_of(bit);
    struct capture c;
    int rc = text_sheet_take(t, p->doc, &c);
    if (rc == 0 && c.blocks > 0)
        rc = set(p, t->title, &c);
    capture_release(&c);
    return rc;
}
