/* walk.c - the order in which marks are walked to */
#include "rodbook/walk.h"

struct site_box
site_box_of(const struct site_place *at, size_t n)
{
    struct site_box box = { { 0, 0 }, { 0, 0 } };
    for (size_t i = 0; i < n; i++) {
        box.low.x = i == 0 || at[i].x < box.low.x ? at[i].x : box.low.x;
        box.low.y = i == 0 || at[i].y < box.low.y ? at[i].y : box.low.y;
        box.high.x = i == 0 || at[i].x > box.high.x ? at[i].x : box.high.x;
        box.high.y = i == 0 || at[i].y > box.high.y ? at[i].y : box.high.y;
    }
    return box;
}

static length
within(length v, length low, length high)
{
    return v < low ? low : v > high ? high : v;
}

length
site_walk_along(const struct site_box *box, struct site_place at)
{
    length x = within(at.x, box->low.x, box->high.x) - box->low.x, y = within(at.y, box->low.y, box->high.y) - box->low.y;
    length wide = box->high.x - box->low.x, deep = box->high.y - box->low.y;
    const length off[4] = { y, wide - x, deep - y, x }; /* from the front, the end, the back, the start */
    const length along[4] = { x, wide + y, wide + deep + wide - x, 2 * wide + deep + deep - y };
    int nearest = 0;
    for (int side = 1; side < 4; side++)
        if (off[side] < off[nearest])
            nearest = side;
    return along[nearest];
}
