/* closing.h - what the files of level_close() share. Private to the room. */
#ifndef LEVEL_CLOSING_H
#define LEVEL_CLOSING_H

#include "rodbook/close.h"

#define MOST INT64_C(100000000000000000) /* nm, 100 000 km: beyond any elevation; differences of such fit in 64 bits */

struct closing {
    struct level_leg *leg;
    size_t legs;
    const struct level_sight *sight;
    struct level_spot *spot;
    size_t spots;
    const struct level_rules *rules;
    struct level_work *w;
    uint8_t hold;    /* the least state at which a spot is known: LEVEL_HELD first, then LEVEL_CARRIED */
    uint32_t head, rear; /* the queue of stretches, each named by its first leg; LEVEL_NONE when empty */
    bool waking;     /* spots that become known wake the stretches that touch them */
    size_t ordered;  /* legs that stand in w->order */
    bool overflow;
};

/* What becomes of a leg: level_work.pending. */
enum { WAITS = 1, QUEUED, DONE };

/* ---- spots.c ---- */

/* The spot has an elevation that a line may lean on, at this stage of the closing. */
bool close_is_known(const struct closing *c, uint32_t s);

/* a + b; a sum beyond reason is noted in c->overflow. */
length close_add(struct closing *c, length a, length b);

/* A stretch, named by its first leg, at the end of the queue, or at its head. */
void close_push(struct closing *c, uint32_t first);
void close_push_first(struct closing *c, uint32_t first);

/* An elevation read on a spot, for the lowest and highest. */
void close_widen(struct level_spot *spot, length value);

/* A side shot, or a line, gives a spot an elevation. */
void close_take_side(struct closing *c, uint32_t s, length value, uint8_t quality);
void close_take_on_line(struct closing *c, uint32_t s, length value, enum level_state state, uint8_t quality);

/* The mean of the side shots that count. */
void close_mean_side(struct level_spot *spot);

/* A known spot that a line leans on stays as it is from now on. Its elevation. */
length close_hold(struct closing *c, uint32_t s);

/* ---- spread.c ---- */

/* Legs path[n] lead from one known spot to another: misclosure, verdict, spread. */
void close_path(struct closing *c, const uint32_t *path, size_t n);

/* Legs path[n] hang on the known spot at one of their ends. */
void close_carry_path(struct closing *c, const uint32_t *path, size_t n);

/* ---- raw.c ---- */

/* Carry each run without corrections from the elevation that it opens on, as the field book has it. */
void close_carry_raw(struct closing *c);

/* ---- a leg's sights ---- */

static inline const struct level_sight *
close_sights(const struct closing *c, const struct level_leg *leg)
{
    return leg->count > 0 ? &c->sight[leg->first] : c->sight;
}

/* A sight that ends or begins its set-up: an intermediate sight does where it closed an open one. */
static inline bool
close_is_station(const struct level_leg *leg, const struct level_sight *s, uint32_t i)
{
    return s[i].kind != LEVEL_IS || (i + 1 == leg->count && s[i].spot == leg->to);
}

static inline length
close_rise_to_hi(const struct closing *c, const struct level_leg *leg)
{
    return leg->count > 0 ? close_sights(c, leg)[0].reading : leg->rise;
}

#endif
