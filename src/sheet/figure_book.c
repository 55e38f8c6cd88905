/* figure_book.c - the field book, in both forms */
#include "figures.h"
#include "flow.h"

int
figure_book(struct pages *p)
{
    struct capture c;
    if (p->doc->job->r->runs == 0)
        return 0;
    int rc = capture_open(&c);
    if (rc == 0) {
        rc = sheet_book(p->doc->job, SHEET_HI | SHEET_RISE_FALL, c.out);
        rc |= capture_close(&c);
    }
    if (rc == 0) {
        pages_turn(p, "Field book");
        flow_blocks(p, &c, 1); /* the first is the title, which the head of each page has */
    }
    capture_release(&c);
    return rc;
}
