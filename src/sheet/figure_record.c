/* figure_record.c - the audit in a page */
#include "figures.h"
#include "flow.h"

int
figure_record(struct pages *p)
{
    struct capture c;
    if (!p->doc->audit)
        return 0;
    int rc = capture_open(&c);
    if (rc == 0) {
        sheet_audit(p->doc->audit, c.out);
        rc = capture_close(&c);
    }
    if (rc == 0) {
        pages_turn(p, "Record sheet");
        flow_blocks(p, &c, 1);
    }
    capture_release(&c);
    return rc;
}
