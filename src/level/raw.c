/* raw.c - what the field book shows: elevations without corrections */
#include "closing.h"

static void
take_raw(struct level_spot *spot, length raw)
{
    if (spot->raws == 0)
        spot->first_raw = raw;
    if (__builtin_add_overflow(spot->raw_sum, raw - spot->first_raw, &spot->raw_sum))
        return;
    spot->raws++;
}

static void
last_sight(struct closing *c, const struct level_leg *leg, const struct level_sight *s)
{
    c->spot[s->spot].last_leg = (uint32_t)(leg - c->leg);
    c->spot[s->spot].last_reading = s->reading;
}

/* Elevations without corrections: of stations, where first met; of side shots, the mean that was used. */
static void
raw_leg(struct closing *c, struct level_leg *leg, length at)
{
    const struct level_sight *s = close_sights(c, leg);
    leg->raw_hi = leg->from == LEVEL_NONE ? leg->hi : close_add(c, at, close_rise_to_hi(c, leg));
    for (uint32_t i = 0; i < leg->count; i++) {
        struct level_spot *spot = &c->spot[s[i].spot];
        last_sight(c, leg, &s[i]);
        length raw = close_add(c, leg->raw_hi, -s[i].reading);
        if (close_is_station(leg, s, i) ? spot->raws == 0 && spot->state >= LEVEL_CARRIED
                    : spot->state == LEVEL_SIDE && leg->quality == spot->quality)
            take_raw(spot, raw);
    }
    if (leg->count > 0)
        return;
    for (int i = 0; i < 2; i++) {
        struct level_spot *spot = &c->spot[i ? leg->to : leg->from];
        if (spot->raws == 0)
            take_raw(spot, i ? leg->raw_hi : at);
    }
}

/* The book carries on from the leg before: in one run, or in one line over two. */
static bool
goes_on(const struct level_leg *before, const struct level_leg *leg)
{
    return before->known && before->to != LEVEL_NONE && before->to == leg->from
        && (before->run == leg->run || before->link == leg->link);
}

/* Carry each run without corrections from the elevation that it opens on. */
void
close_carry_raw(struct closing *c)
{
    length at = 0;
    for (size_t l = 0; l < c->legs; l++) {
        struct level_leg *leg = &c->leg[l];
        if (!leg->known)
            continue;
        if (l == 0 || !goes_on(&c->leg[l - 1], leg))
            at = leg->from != LEVEL_NONE ? c->spot[leg->from].value : 0;
        raw_leg(c, leg, at);
        if (leg->to == LEVEL_NONE)
            continue;
        length back = leg->count > 0 ? close_sights(c, leg)[leg->count - 1].reading : 0;
        at = close_add(c, leg->raw_hi, -back);
    }
    for (size_t s = 0; s < c->spots; s++) {
        struct level_spot *spot = &c->spot[s];
        close_mean_side(spot);
        spot->raw = spot->raws > 0 ? spot->first_raw + length_divide(spot->raw_sum, 1, spot->raws) : spot->value;
        if (spot->readings == 0 && spot->last_leg != LEVEL_NONE)
            close_widen(spot, spot->value); /* a mark at the end of a line */
    }
}
