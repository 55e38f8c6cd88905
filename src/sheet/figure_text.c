/* figure_text.c - sheets that are text and tables, on pages */
#include "figures.h"
#include "flow.h"
#include "texts.h"

int
figure_text(struct pages *p, enum sheet_figure bit)
{
    const struct text_sheet *t = text_sheet_of(bit);
    struct capture c;
    struct flow f = { 0 };
    int rc = text_sheet_take(t, p->doc, &c);
    if (rc == 0 && c.blocks > 0) {
        pages_turn(p, t->title);
        rc = flow_open(&f, p, &c, 1);
    }
    if (rc == 0)
        flow_set(&f);
    flow_release(&f);
    capture_release(&c);
    return rc;
}
