#include "rodbook/setup.h"

#define STADIA_MULTIPLIER 100 /* nm of distance in a nm of interval; see setup.h */

/* The set-up that is being booked. */
struct open {
    struct level_leg *leg; /* NULL between set-ups */
    bool turned;           /* a foresight closed the set-up before, on... */
    uint32_t turn;         /* ...this spot */
};

static struct level_leg *
begin(struct level_leg *leg, uint32_t from, uint32_t run, size_t first)
{
    *leg = (struct level_leg){ .from = from, .to = LEVEL_NONE, .first = (uint32_t)first, .run = run, .setups = 1,
        .dist = -1, .link = LEVEL_NONE };
    return leg;
}

static enum level_status
refuse(const struct open *now, const struct level_sight *s)
{
    if (s->kind != LEVEL_BS)
        return now->leg || s->broken ? LEVEL_OK : LEVEL_ENOBS;
    if (now->leg)
        return LEVEL_EOPEN;
    return now->turned && now->turn != s->spot ? LEVEL_ETURN : LEVEL_OK;
}

enum level_status
level_group(const struct level_sight *sight, size_t n, size_t first, uint32_t run, struct level_leg *leg,
    size_t *legs, size_t *bad)
{
    struct open now = { 0 };
    size_t count = 0;
    for (size_t i = 0; i < n; i++) {
        const struct level_sight *s = &sight[i];
        if (s->broken)
            now = (struct open){ 0 };
        enum level_status status = refuse(&now, s);
        if (status != LEVEL_OK) {
            *bad = i;
            return status;
        }
        if (!now.leg)
            now.leg = begin(&leg[count++], s->kind == LEVEL_BS ? s->spot : LEVEL_NONE, run, first + i);
        now.leg->count++;
        if (s->kind != LEVEL_FS)
            continue;
        now.leg->to = s->spot;
        if (now.leg->from != LEVEL_NONE
            && __builtin_sub_overflow(sight[now.leg->first - first].reading, s->reading, &now.leg->rise)) {
            *bad = i;
            return LEVEL_EOVERFLOW;
        }
        now = (struct open){ .turned = true, .turn = s->spot };
    }
    *legs = count;
    return LEVEL_OK;
}

length
level_stadia(length upper, length lower)
{
    return STADIA_MULTIPLIER * (upper > lower ? upper - lower : lower - upper);
}
