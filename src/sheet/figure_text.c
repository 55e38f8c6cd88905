/* figure_text.c - sheets that are text and tables, on pages */
#include "figures.h"
#include "flow.h"
#include "texts.h"

int
figure_text(struct pages *p, enum sheet_figure bit)
{
    const struct text_sheet *t = text_sheet_of(bit);
    struct capture c;
    int rc = text_sheet_take(t, p->doc, &c);
    if (rc == 0 && c.blocks > 0) {
        pages_turn(p, t->title);
        flow_blocks(p, &c, 1);
    }
    capture_release(&c);
    return rc;
}
