/* walk.c - the order in which marks are walked to */
#include "rodbook/walk.h"

typedef __int128 wide;

struct site_box
site_box_of(const struct site_place *at, size_t n)
{
    struct site_place low = { 0, 0 }, high = { 0, 0 };
    for (size_t i = 0; i < n; i++) {
        low.x = i == 0 || at[i].x < low.x ? at[i].x : low.x;
        low.y = i == 0 || at[i].y < low.y ? at[i].y : low.y;
        high.x = i == 0 || at[i].x > high.x ? at[i].x : high.x;
        high.y = i == 0 || at[i].y > high.y ? at[i].y : high.y;
    }
    struct site_box box = { { low.x + high.x, low.y + high.y }, { low.x - high.x, low.y - high.y } };
    if (box.corner.x == 0 && box.corner.y == 0)
        box.corner = (struct site_turn){ -1, -1 }; /* one place alone, or none */
    return box;
}

struct site_turn
site_turn_to(const struct site_box *box, struct site_place at)
{
    return (struct site_turn){ 2 * at.x - box->middle.x, 2 * at.y - box->middle.y };
}

/* Above 0 where b lies to the left of a. */
static wide
cross(struct site_turn a, struct site_turn b)
{
    return (wide)a.x * b.y - (wide)a.y * b.x;
}

static wide
product(struct site_turn a, struct site_turn b)
{
    return (wide)a.x * b.x + (wide)a.y * b.y;
}

/* Which half of the walk a direction lies in: 0 from the first corner on, 1 from the opposite one on; 2 in the middle. */
static int
half(struct site_turn corner, struct site_turn t)
{
    wide left = cross(corner, t);
    if (t.x == 0 && t.y == 0)
        return 2;
    return left > 0 || (left == 0 && product(corner, t) > 0) ? 0 : 1;
}

int
site_turn_compare(const struct site_box *box, struct site_turn a, struct site_turn b)
{
    int first = half(box->corner, a), second = half(box->corner, b);
    if (first != second)
        return first - second;
    wide left = cross(a, b);
    if (left != 0)
        return left > 0 ? -1 : 1;
    wide far = product(a, a) - product(b, b);
    return far > 0 ? -1 : far < 0 ? 1 : 0;
}
