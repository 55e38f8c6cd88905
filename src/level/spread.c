/* spread.c - loops and links closed and spread, spurs carried */
#include "closing.h"

/* The leg's height of instrument is known: so are its side shots. */
static void
settle_leg(struct closing *c, uint32_t l, length hi, uint32_t link, uint8_t quality)
{
    struct level_leg *leg = &c->leg[l];
    leg->hi = hi;
    leg->known = 1;
    leg->quality = quality;
    leg->link = link;
    c->w->pending[l] = DONE;
    c->w->order[c->ordered++] = l;
    const struct level_sight *s = close_sights(c, leg);
    for (uint32_t i = 0; i < leg->count; i++)
        if (!close_is_station(leg, s, i))
            close_take_side(c, s[i].spot, close_add(c, hi, -s[i].reading), quality);
}

/* Sums for the field book; an open set-up's last intermediate sight serves as foresight. */
static void
sum_leg(struct closing *c, const struct level_leg *leg, struct level_link *link)
{
    const struct level_sight *s = close_sights(c, leg);
    if (leg->count == 0) {
        length *to = leg->rise >= 0 ? &link->sum_rise : &link->sum_fall;
        *to = close_add(c, *to, leg->rise >= 0 ? leg->rise : -leg->rise);
        link->summed = true;
        return;
    }
    if (leg->count == 1)
        return;
    link->summed = true;
    link->sum_bs = close_add(c, link->sum_bs, s[0].reading);
    link->sum_fs = close_add(c, link->sum_fs, s[leg->count - 1].reading);
    for (uint32_t i = 1; i < leg->count; i++) {
        length step = s[i - 1].reading - s[i].reading;
        length *to = step >= 0 ? &link->sum_rise : &link->sum_fall;
        *to = close_add(c, *to, step >= 0 ? step : -step);
    }
}

static void
count_leg(struct closing *c, uint32_t l, struct level_link *link)
{
    const struct level_leg *leg = &c->leg[l];
    bool whole = link->count++ == 0 || link->setups > 0;
    link->setups = whole && leg->setups > 0 ? link->setups + leg->setups : 0;
    link->dist = link->dist >= 0 && leg->dist > 0 ? close_add(c, link->dist, leg->dist) : -1;
    sum_leg(c, leg, link);
}

static struct level_link *
begin_link(struct closing *c)
{
    struct level_link *link = &c->w->link[c->w->links++];
    *link = (struct level_link){ .from = LEVEL_NONE, .to = LEVEL_NONE, .first = (uint32_t)c->ordered, .allowed_nm = -1,
        .wanting = LEVEL_NONE };
    return link;
}

static length
share_of(const struct closing *c, const struct level_leg *leg)
{
    switch (c->rules->spread) {
    case LEVEL_BY_SETUPS:
        return leg->setups;
    case LEVEL_BY_DISTANCE:
        return leg->dist;
    case LEVEL_BY_LEGS:
        break;
    }
    return 1;
}

/* ---- loops and links ---- */

static void
find_wanting(const struct closing *c, const uint32_t *path, size_t n, struct level_link *link)
{
    bool by_dist = c->rules->allow == LEVEL_ALLOW_ROOT_KM || c->rules->allow == LEVEL_ALLOW_ROOT_MILE;
    bool by_setups = c->rules->allow == LEVEL_ALLOW_ROOT_SETUP;
    for (size_t i = 0; i < n && !link->no_share; i++) {
        const struct level_leg *leg = &c->leg[path[i]];
        if (share_of(c, leg) > 0 && !(by_dist && leg->dist <= 0) && !(by_setups && leg->setups == 0))
            continue;
        link->no_share = true;
        link->wanting = path[i];
    }
}

static void
judge_link(const struct closing *c, struct level_link *link)
{
    link->allowed_nm = level_allowed(c->rules, link->setups, link->dist);
    link->within = level_judge(c->rules, link->setups, link->dist, link->misclosure);
    link->spread = !link->no_share && (link->within != LEVEL_BEYOND || c->rules->spread_anyway);
    if (!link->spread)
        link->quality = LEVEL_OUTSIDE;
    else if (link->within == LEVEL_BEYOND && link->quality < LEVEL_FORCED)
        link->quality = LEVEL_FORCED;
}

static uint8_t
worse(uint8_t a, uint8_t b)
{
    return a > b ? a : b;
}

/* Legs path[n] lead from one known spot to another: misclosure, verdict, spread. */
void
close_path(struct closing *c, const uint32_t *path, size_t n)
{
    struct level_link *link = begin_link(c);
    uint32_t number = (uint32_t)(c->w->links - 1);
    length total = 0, shares = 0, carried = 0, done = 0;
    for (size_t i = 0; i < n; i++) {
        count_leg(c, path[i], link);
        total = close_add(c, total, c->leg[path[i]].rise);
    }
    link->from = c->leg[path[0]].from;
    link->to = c->leg[path[n - 1]].to;
    link->kind = link->from == link->to ? LEVEL_LOOP : LEVEL_LINK;
    length start = close_hold(c, link->from), end = close_hold(c, link->to);
    link->quality = worse(c->spot[link->from].quality, c->spot[link->to].quality);
    link->misclosure = close_add(c, close_add(c, total, start), -end);
    find_wanting(c, path, n, link);
    judge_link(c, link);
    for (size_t i = 0; link->spread && i < n; i++)
        shares = close_add(c, shares, share_of(c, &c->leg[path[i]]));
    enum level_state state = link->quality <= LEVEL_FORCED ? LEVEL_HELD : LEVEL_CARRIED;
    for (size_t i = 0; i < n && !c->overflow; i++) {
        const struct level_leg *leg = &c->leg[path[i]];
        carried = close_add(c, carried, leg->rise);
        done = close_add(c, done, link->spread ? share_of(c, leg) : 0);
        length correction = link->spread ? length_divide(-link->misclosure, done, shares) : 0;
        length at = close_add(c, close_add(c, start, carried), correction);
        length hi = leg->count > 0 ? close_add(c, at, close_sights(c, leg)[leg->count - 1].reading) : at;
        c->leg[path[i]].correction = correction;
        settle_leg(c, path[i], hi, number, link->quality);
        if (i + 1 < n)
            close_take_on_line(c, leg->to, at, state, link->quality);
    }
}

/* ---- spurs ---- */

/* Legs path[n] hang on the known spot that they begin at. */
static void
carry_forward(struct closing *c, const uint32_t *path, size_t n, uint32_t number, uint8_t quality)
{
    length at = close_hold(c, c->leg[path[0]].from);
    for (size_t i = 0; i < n; i++) {
        const struct level_leg *leg = &c->leg[path[i]];
        settle_leg(c, path[i], close_add(c, at, close_rise_to_hi(c, leg)), number, quality);
        if (leg->to == LEVEL_NONE)
            break;
        at = close_add(c, at, leg->rise);
        close_take_on_line(c, leg->to, at, LEVEL_CARRIED, quality);
    }
}

/* Legs path[n] hang on the known spot that they end at. */
static void
carry_back(struct closing *c, const uint32_t *path, size_t n, uint32_t number, uint8_t quality)
{
    length at = close_hold(c, c->leg[path[n - 1]].to);
    for (size_t i = n; i-- > 0;) {
        const struct level_leg *leg = &c->leg[path[i]];
        length hi = leg->count > 0 ? close_add(c, at, close_sights(c, leg)[leg->count - 1].reading) : at;
        settle_leg(c, path[i], hi, number, quality);
        if (leg->from == LEVEL_NONE)
            break;
        at = close_add(c, at, -leg->rise);
        close_take_on_line(c, leg->from, at, LEVEL_CARRIED, quality);
    }
    for (size_t i = 0; i < n; i++) /* settled from behind, listed as booked */
        c->w->order[c->ordered - n + i] = path[i];
}

/* The spot of an open set-up's last sight, where the page check ends. */
static uint32_t
last_spot(const struct closing *c, const struct level_leg *leg)
{
    if (leg->to != LEVEL_NONE)
        return leg->to;
    return leg->count > 1 ? close_sights(c, leg)[leg->count - 1].spot : LEVEL_NONE;
}

void
close_carry_path(struct closing *c, const uint32_t *path, size_t n)
{
    struct level_link *link = begin_link(c);
    uint32_t number = (uint32_t)(c->w->links - 1);
    const struct level_leg *first = &c->leg[path[0]], *last = &c->leg[path[n - 1]];
    bool forward = close_is_known(c, first->from);
    for (size_t i = 0; i < n; i++)
        count_leg(c, path[i], link);
    link->kind = LEVEL_SPUR;
    link->from = first->from;
    link->to = last_spot(c, last);
    uint32_t anchor = forward ? first->from : last->to;
    link->quality = worse(LEVEL_UNCHECKED, c->spot[anchor].quality);
    if (forward)
        carry_forward(c, path, n, number, link->quality);
    else
        carry_back(c, path, n, number, link->quality);
}
