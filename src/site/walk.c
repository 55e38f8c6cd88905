/* walk.c - the order in which marks are walked to */
#include "rodbook/walk.h"

typedef __int128 wide;

struct site_turn
site_middle(const struct site_place *at, size_t n)
{
    struct site_place low = { 0, 0 }, high = { 0, 0 };
    for (size_t i = 0; i < n; i++) {
        low.x = i == 0 || at[i].x < low.x ? at[i].x : low.x;
        low.y = i == 0 || at[i].y < low.y ? at[i].y : low.y;
        high.x = i == 0 || at[i].x > high.x ? at[i].x : high.x;
        high.y = i == 0 || at[i].y > high.y ? at[i].y : high.y;
    }
    return (struct site_turn){ low.x + high.x, low.y + high.y };
}

struct site_turn
site_turn_to(struct site_turn middle, struct site_place at)
{
    return (struct site_turn){ 2 * at.x - middle.x, 2 * at.y - middle.y };
}

/* Which half of the walk a direction lies in: 0 from (-1, -1) on, 1 from (1, 1) on; 2 in the middle. */
static int
half(struct site_turn t)
{
    if (t.x == 0 && t.y == 0)
        return 2;
    return t.x > t.y || (t.x == t.y && t.x < 0) ? 0 : 1;
}

int
site_turn_compare(struct site_turn a, struct site_turn b)
{
    int first = half(a), second = half(b);
    if (first != second)
        return first - second;
    wide cross = (wide)a.x * b.y - (wide)a.y * b.x;
    if (cross != 0)
        return cross > 0 ? -1 : 1;
    wide far = ((wide)a.x * a.x + (wide)a.y * a.y) - ((wide)b.x * b.x + (wide)b.y * b.y);
    return far > 0 ? -1 : far < 0 ? 1 : 0;
}

length
site_walk_length(struct site_place a, struct site_place b)
{
    double x = (double)(a.x - b.x), y = (double)(a.y - b.y);
    return (length)(__builtin_sqrt(x * x + y * y) + 0.5);
}
