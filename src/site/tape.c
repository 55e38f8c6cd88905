#include "rodbook/tape.h"

#include "math.h"

#define NM 1e-9 /* m */

static enum site_tape_status
sag_of(const struct site_tape *t, const struct site_taped *row, double *sag)
{
    double sum = 0;
    for (size_t i = 0; i < row->spans; i++) {
        double l = (double)row->span[i] * NM, ratio = t->weight * l / row->pull;
        if (!(ratio * ratio / 24 < 0.1))
            return SITE_TAPE_ESAG;
        sum -= l * ratio * ratio / 24;
    }
    *sag = sum;
    return SITE_TAPE_OK;
}

/* `along` is the length along the slope. */
static enum site_tape_status
slope_of(const struct site_taped *row, double along, double *slope)
{
    *slope = 0;
    if (row->has & SITE_TAPE_RISE) {
        double rise = fabs((double)row->rise * NM);
        if (!(rise < along))
            return SITE_TAPE_ESTEEP;
        /* root(S^2 - v^2) - S without its cancelling */
        *slope = -rise * rise / (along + sqrt((along - rise) * (along + rise)));
    } else if (row->has & SITE_TAPE_SLOPE) {
        double half = sin(row->slope / 2);
        *slope = -2 * along * half * half;
    }
    return SITE_TAPE_OK;
}

static enum site_tape_status
correct(const struct site_tape *t, const struct site_taped *row, double read, struct site_tape_corrections *out)
{
    struct site_tape_corrections c = { 0 };
    unsigned has = t->has & row->has;
    if (t->has & SITE_TAPE_LENGTH)
        c.length = read * ((double)(t->actual - t->nominal) / (double)t->nominal);
    if (has & SITE_TAPE_TEMP)
        c.temp = read * t->expansion * (row->temp - t->temp);
    if (has & SITE_TAPE_PULL)
        c.pull = read * (row->pull - t->pull) / (t->area * t->modulus);
    if ((has & SITE_TAPE_SAG) && sag_of(t, row, &c.sag) != SITE_TAPE_OK)
        return SITE_TAPE_ESAG;
    double on_tape = c.length + c.temp + c.pull + c.sag;
    if (slope_of(row, read + on_tape, &c.slope) != SITE_TAPE_OK)
        return SITE_TAPE_ESTEEP;
    c.sum = on_tape + c.slope;
    c.corrected = read + c.sum;
    *out = c;
    return SITE_TAPE_OK;
}

enum site_tape_status
site_tape_correct(const struct site_tape *t, const struct site_taped *row, struct site_tape_corrections *c)
{
    return correct(t, row, (double)row->read * NM, c);
}

#define ROUNDS 100 /* each makes the error smaller by the correction's own share of the length, 1/3 at 45 degrees */

enum site_tape_status
site_tape_lay_out(const struct site_tape *t, const struct site_taped *row, length wanted, double *read)
{
    double goal = (double)wanted * NM, at = goal;
    if (row->has & SITE_TAPE_RISE) /* a good start: where the ends lie that far apart, and so never too steep */
        at = hypot(goal, (double)row->rise * NM);
    for (int i = 0; i < ROUNDS; i++) {
        struct site_tape_corrections c;
        enum site_tape_status s = correct(t, row, at, &c);
        if (s != SITE_TAPE_OK)
            return s;
        double off = goal - c.corrected;
        at += off * (goal / at); /* d corrected / d read is about at / goal with a rise, goal / at with a slope; either converges */
        if (fabs(off) < 1e-13)
            break;
    }
    *read = at;
    return SITE_TAPE_OK;
}

double
site_tape_normal_pull(const struct site_tape *t, length span)
{
    double wl = t->weight * (double)span * NM, want = wl * wl * t->area * t->modulus / 24;
    double low = t->pull, high = 2 * t->pull + 1;
    while (!(high * high * (high - t->pull) >= want))
        high *= 2;
    for (int i = 0; i < 200; i++) {
        double middle = low + (high - low) / 2;
        if (middle * middle * (middle - t->pull) < want)
            low = middle;
        else
            high = middle;
    }
    return low + (high - low) / 2;
}
