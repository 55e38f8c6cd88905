/* spots.c - elevations of spots, and who waits for them */
#include "closing.h"

bool
close_is_known(const struct closing *c, uint32_t s)
{
    if (s == LEVEL_NONE)
        return false;
    const struct level_spot *spot = &c->spot[s];
    if (spot->state == LEVEL_SIDE)
        return spot->quality <= LEVEL_FORCED || c->hold <= LEVEL_CARRIED;
    return spot->state >= c->hold;
}

length
close_add(struct closing *c, length a, length b)
{
    length sum = 0;
    c->overflow |= __builtin_add_overflow(a, b, &sum) || sum > MOST || sum < -MOST;
    return sum;
}

void
close_push(struct closing *c, uint32_t first)
{
    c->w->queue[first] = LEVEL_NONE;
    if (c->rear == LEVEL_NONE)
        c->head = first;
    else
        c->w->queue[c->rear] = first;
    c->rear = first;
}

void
close_push_first(struct closing *c, uint32_t first)
{
    c->w->queue[first] = c->head;
    c->head = first;
    if (c->rear == LEVEL_NONE)
        c->rear = first;
}

static void
wake(struct closing *c, uint32_t s)
{
    if (!c->waking)
        return;
    for (uint32_t i = c->w->touch_start[s]; i < c->w->touch_start[s + 1]; i++) {
        /* pending legs carry the first leg of their stretch in `inner` */
        uint32_t l = c->w->touch[i];
        if (c->w->pending[l] != WAITS)
            continue;
        uint32_t first = c->w->inner[l];
        if (c->w->pending[first] == WAITS) {
            c->w->pending[first] = QUEUED;
            close_push(c, first);
        }
    }
}

void
close_widen(struct level_spot *spot, length value)
{
    if (spot->readings == 0)
        spot->low = spot->high = value;
    spot->low = value < spot->low ? value : spot->low;
    spot->high = value > spot->high ? value : spot->high;
    spot->readings++;
}

/* A side shot gives a spot an elevation. */
void
close_take_side(struct closing *c, uint32_t s, length value, uint8_t quality)
{
    struct level_spot *spot = &c->spot[s];
    bool fresh = spot->state == LEVEL_UNKNOWN;
    close_widen(spot, value);
    if (spot->state > LEVEL_SIDE || (!fresh && quality > spot->quality))
        return; /* a check on a spot that has better */
    bool better = fresh || quality < spot->quality;
    if (better) {
        spot->first_value = value;
        spot->value_sum = 0;
        spot->best = 0;
        spot->quality = quality;
        spot->state = LEVEL_SIDE;
    }
    spot->value_sum = close_add(c, spot->value_sum, value - spot->first_value);
    spot->best++;
    spot->value = value; /* the mean follows when it is asked for */
    if (better)
        wake(c, s);
}

/* A line gives a spot an elevation. */
void
close_take_on_line(struct closing *c, uint32_t s, length value, enum level_state state, uint8_t quality)
{
    struct level_spot *spot = &c->spot[s];
    close_widen(spot, value);
    if (spot->state >= state && spot->state != LEVEL_CARRIED)
        return;
    if (spot->state == LEVEL_CARRIED && state == LEVEL_CARRIED && quality >= spot->quality)
        return;
    spot->value = value;
    spot->state = (uint8_t)state;
    spot->quality = quality;
    wake(c, s);
}

/* The mean of the side shots that count. */
void
close_mean_side(struct level_spot *spot)
{
    if (spot->state == LEVEL_SIDE)
        spot->value = spot->first_value + length_divide(spot->value_sum, 1, spot->best);
}

/* A known spot that a line leans on stays as it is from now on. */
length
close_hold(struct closing *c, uint32_t s)
{
    struct level_spot *spot = &c->spot[s];
    close_mean_side(spot);
    if (spot->state == LEVEL_SIDE)
        spot->state = spot->quality <= LEVEL_FORCED ? LEVEL_HELD : LEVEL_CARRIED;
    return spot->value;
}
