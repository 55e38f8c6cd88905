#include "rodbook/check.h"

static void
sum(struct level_check *c, length *to, length value)
{
    c->overflow |= __builtin_add_overflow(*to, value, to);
}

/* The open set-up's first sight counts as backsight once a second sight follows it. */
static void
count_backsight(struct level_check *c)
{
    if (c->open_counted)
        return;
    sum(c, &c->sum_bs, c->open_reading);
    if (!c->started)
        c->first = c->open_elevation;
    c->started = true;
    c->open_counted = true;
}

void
level_check_take(struct level_check *c, enum level_kind kind, length reading, length elevation)
{
    if (kind == LEVEL_BS || !c->open) {
        /* a set-up without a backsight begins at its first sight */
        c->open = kind != LEVEL_FS;
        c->open_reading = reading;
        c->open_elevation = elevation;
        c->open_counted = false;
        return;
    }
    count_backsight(c);
    length step = c->open_reading - reading;
    sum(c, step >= 0 ? &c->sum_rise : &c->sum_fall, step >= 0 ? step : -step);
    c->last = elevation;
    c->open_reading = reading;
    c->open_elevation = elevation;
    if (kind == LEVEL_FS) {
        sum(c, &c->sum_fs, reading);
        c->open = false;
    }
}

bool
level_check_close(struct level_check *c, struct level_check *next)
{
    *next = (struct level_check){ 0 };
    c->carried = c->open && !c->open_counted;
    if (c->open) {
        c->left_open = c->open_counted;
        if (c->left_open)
            sum(c, &c->sum_fs, c->open_reading);
        next->open = true;
        next->open_reading = c->open_reading;
        next->open_elevation = c->open_elevation;
    }
    if (!c->started)
        return true;
    length_wide sights = (length_wide)c->sum_bs - c->sum_fs;
    length_wide steps = (length_wide)c->sum_rise - c->sum_fall;
    length_wide ends = (length_wide)c->last - c->first;
    return !c->overflow && sights == steps && sights == ends;
}
