/*
 * suspect_trial.h - simulated loops with one known slip each, through record, job and suspects
 *
 * The slips are made here from what was really read, by other code than that
 * which looks for them: digits are exchanged in the text of the reading, a rod
 * stands on another point, an instrument sinks.
 */
#ifndef TESTS_SUSPECT_TRIAL_H
#define TESTS_SUSPECT_TRIAL_H

#include "rodbook/suspects.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- chance that repeats ---- */

struct chance {
    uint64_t state;
};

static inline uint64_t
chance_next(struct chance *c) /* splitmix64: S. Vigna, public domain (constants from memory) */
{
    uint64_t z = (c->state += UINT64_C(0x9e3779b97f4a7c15));
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

static inline double
chance_between(struct chance *c, double low, double high)
{
    return low + (high - low) * ((double)(chance_next(c) >> 11) / 9007199254740992.0);
}

static inline size_t
chance_below(struct chance *c, size_t n)
{
    return (size_t)(chance_next(c) % n);
}

static inline bool
chance_of(struct chance *c, double p)
{
    return chance_between(c, 0, 1) < p;
}

/* Standard normal, by Box and Muller. */
static inline double
chance_normal(struct chance *c)
{
    return sqrt(-2 * log(1 - chance_between(c, 0, 1))) * cos(6.283185307179586 * chance_between(c, 0, 1));
}

/* ---- a loop ---- */

#define TRIAL_SIGHTS 512
#define TRIAL_POINTS 512

struct trial_sight {
    int setup, point;
    enum level_kind kind;
    double real;   /* m, with its noise, before it is read off */
    length read;   /* what stood on the rod */
    length booked; /* what was written */
    double dist;   /* m; 0: not booked */
};

struct trial_point {
    double z;     /* m */
    bool mark, top;
    length given; /* of a mark */
};

/* A kind of job: what its rod shows, and how well it is read. */
struct trial_rod {
    const char *unit, *least_text, *allow, *length_text, *sigma_text;
    enum length_unit bare;
    length least, whole, most;
    double sigma; /* m, before it is read off to the least division */
    struct length_style style;
};

static const struct trial_rod trial_rods[] = {
    { "ft", "0.01", "{misclosure: 0.02, per: root-setup}", "13", "0.004", LENGTH_BARE_FT, LENGTH_FT / 100, LENGTH_FT, 13 * LENGTH_FT,
        0.0008, { LENGTH_AS_FT, 2, 0 } },
    { "m", "0.001", "{misclosure: 5 mm, per: root-setup}", "4", "0.0012", LENGTH_BARE_M, LENGTH_MM, LENGTH_M, 4 * LENGTH_M, 0.0011,
        { LENGTH_AS_M, 3, 0 } },
    { "ft-in", "1/8 in", "{misclosure: 1/4 in, per: root-setup}", "13 ft", "1/16 in", LENGTH_BARE_FT_IN, LENGTH_IN / 8, LENGTH_FT,
        13 * LENGTH_FT, 0.001, { LENGTH_AS_FT_IN, 0, 8 } },
};

struct trial {
    struct chance chance;
    const struct trial_rod *rod;
    struct trial_sight sight[TRIAL_SIGHTS];
    size_t sights;
    struct trial_point point[TRIAL_POINTS];
    size_t points;
    double hi[64];
    int setups;
    double again; /* chance that a point is read once more from a later set-up */
    /* The slip: */
    enum suspect_slip slip;
    size_t at, other; /* sights; of SUSPECT_MOVED the point */
    /* What came of it: */
    bool outside, named, identifiable;
    size_t rank; /* of the true reading, from 1; 0: not named */
};

static inline length
trial_read_off(const struct trial *t, double metres)
{
    return llround(metres * 1e9 / (double)t->rod->least) * t->rod->least;
}

static inline int
trial_new_point(struct trial *t, double z, bool mark)
{
    /* a mark's elevation is given to a tenth of the least division at most: here it is that, and true */
    length given = llround(z * 1e9 / (double)t->rod->least) * t->rod->least;
    t->point[t->points] = (struct trial_point){ mark ? (double)given / 1e9 : z, mark, false, given };
    return (int)t->points++;
}

static inline bool
trial_sees(const struct trial *t, int setup, int point)
{
    double r = t->hi[setup] - t->point[point].z, most = (double)t->rod->most / 1e9;
    return t->point[point].top ? r < -0.1 && r > -most : r > 0.12 && r < most - 0.1;
}

static inline bool
trial_is_read_from(const struct trial *t, int setup, int point)
{
    for (size_t i = 0; i < t->sights; i++)
        if (t->sight[i].setup == setup && t->sight[i].point == point)
            return true;
    return false;
}

static inline void
trial_sight(struct trial *t, int setup, int point, enum level_kind kind, double dist)
{
    struct trial_sight *s = &t->sight[t->sights++];
    *s = (struct trial_sight){ .setup = setup, .point = point, .kind = kind, .dist = dist };
    s->real = t->hi[setup] - t->point[point].z + chance_normal(&t->chance) * t->rod->sigma;
    s->read = s->booked = trial_read_off(t, s->real);
}

/* Side shots: new points, and ones that were read from the set-up before, or turned on before that. */
static inline void
trial_side_shots(struct trial *t, int setup, bool dists)
{
    struct chance *c = &t->chance;
    size_t before = t->sights, news = chance_below(c, 5);
    for (size_t i = before > 12 ? before - 12 : 0; i < before && setup > 0; i++) {
        int point = t->sight[i].point;
        bool again = t->sight[i].setup < setup && t->sight[i].setup >= setup - 2;
        if (again && chance_of(c, t->again) && trial_sees(t, setup, point) && !trial_is_read_from(t, setup, point))
            trial_sight(t, setup, point, LEVEL_IS, dists ? round(chance_between(c, 5, 60)) : 0);
    }
    for (size_t i = 0; i < news; i++) {
        bool top = chance_of(c, 0.04);
        int point = trial_new_point(t, t->hi[setup] - (top ? chance_between(c, -2, -0.3) : chance_between(c, 0.5, 2.7)), false);
        t->point[point].top = top;
        trial_sight(t, setup, point, LEVEL_IS, dists ? round(chance_between(c, 5, 60)) : 0);
    }
}

static inline void
trial_loop(struct trial *t)
{
    struct chance *c = &t->chance;
    double kind = chance_between(c, 0, 1);
    t->rod = &trial_rods[kind < 0.45 ? 0 : kind < 0.9 ? 1 : 2];
    t->sights = t->points = 0;
    t->setups = 4 + (int)chance_below(c, 37);
    static const double agains[] = { 0, 0.05, 0.1, 0.2 }; /* bare lines, and crews that look back more or less often */
    t->again = agains[chance_below(c, 4)];
    bool dists = chance_of(c, 0.5), home = chance_of(c, 0.6);
    int start = trial_new_point(t, 30, true), on = start;
    for (int k = 0; k < t->setups; k++) {
        double z = t->point[on].z, sight = dists ? round(chance_between(c, 10, 50)) : 0;
        bool last = k + 1 == t->setups;
        do
            t->hi[k] = z + chance_between(c, 0.9, 2.2);
        while (t->hi[k] - 30 < 0.4 || t->hi[k] - 30 > 3.2);
        trial_sight(t, k, on, LEVEL_BS, sight);
        trial_side_shots(t, k, dists);
        int ahead = last && home ? start : -1;
        while (ahead < 0) {
            double there = t->hi[k] - chance_between(c, 0.5, 2.7);
            if (fabs(there - 30) < 1.2)
                ahead = trial_new_point(t, there, last || chance_of(c, 0.12));
        }
        trial_sight(t, k, ahead, LEVEL_FS, sight > 0 ? sight + round(chance_between(c, -3, 3)) : 0);
        on = ahead;
    }
}

/* ---- slips ---- */

/* A reading as it is written, and what such a text means; in feet and inches as it is printed. */
static inline void
trial_text(const struct trial *t, length v, char text[LENGTH_TEXT])
{
    length_print(text, v, t->rod->style);
}

static inline bool
trial_value(const struct trial *t, const char *text, length *v)
{
    return length_read(text, strlen(text), t->rod->bare, v) == LENGTH_OK;
}

/* Two digits with nothing, or only the point, between them; in feet and inches the feet and the inches. */
static inline bool
trial_swap_digits(struct trial *t, length *v)
{
    char text[LENGTH_TEXT];
    size_t first[LENGTH_TEXT], n = 0;
    trial_text(t, *v, text);
    bool inched = t->rod->bare == LENGTH_BARE_FT_IN;
    for (size_t i = 0; text[i] && !(inched && strchr("-/\"", text[i]) && i > 0); i++)
        if (text[i] >= '0' && text[i] <= '9')
            first[n++] = i;
    if (n < 2 || (inched && (n != 2 || !strchr(text, '\''))))
        return false;
    size_t k = chance_below(&t->chance, n - 1);
    char swap = text[first[k]];
    text[first[k]] = text[first[k + 1]];
    text[first[k + 1]] = swap;
    return trial_value(t, text, v);
}

static inline bool
trial_take_for(struct trial *t, length *v, char one, char other)
{
    char text[LENGTH_TEXT];
    size_t found[LENGTH_TEXT], n = 0;
    trial_text(t, *v, text);
    for (size_t i = 0; text[i] && !(t->rod->bare == LENGTH_BARE_FT_IN && text[i] == '-' && i > 0) && !strchr(text, '/'); i++)
        if (text[i] == one || text[i] == other)
            found[n++] = i;
    if (n == 0)
        return false;
    size_t k = found[chance_below(&t->chance, n)];
    text[k] = text[k] == one ? other : one;
    return trial_value(t, text, v);
}

/* In feet: an inch rod, whole inches as near as they are read, written as tenths or hundredths. */
static inline bool
trial_mix_inches(struct trial *t, length *v)
{
    length part = *v % LENGTH_FT, feet = *v - part, inches = (part + LENGTH_IN / 2) / LENGTH_IN, tenths = (part + LENGTH_FT / 20) / (LENGTH_FT / 10);
    if (t->rod->bare == LENGTH_BARE_M || *v <= 0)
        return false;
    if (t->rod->bare == LENGTH_BARE_FT_IN) {
        if (tenths == 0 || tenths > 9 || llabs(part - tenths * (LENGTH_FT / 10)) > LENGTH_IN / 16)
            return false;
        *v = feet + tenths * LENGTH_IN;
        return true;
    }
    if (inches == 0 || inches > 11 || llabs(part - inches * LENGTH_IN) > LENGTH_FT / 200)
        return false;
    *v = feet + inches * (inches < 10 && chance_of(&t->chance, 0.5) ? LENGTH_FT / 10 : LENGTH_FT / 100);
    return true;
}

/* From the nearest figure as far to the other side. */
static inline bool
trial_mirror(length *v, length step)
{
    length value = llabs(*v), figure = (value + step / 2) / step * step;
    *v = (*v < 0 ? -1 : 1) * (2 * figure - value);
    return *v != 0;
}

static inline bool
trial_in_rod(const struct trial *t, length v)
{
    return v != 0 && llabs(v) <= t->rod->most;
}

static inline bool
trial_step_value(struct trial *t, length *v, length step)
{
    bool up = chance_of(&t->chance, 0.5);
    length value = llabs(*v) + (up ? step : -step);
    if (value <= 0)
        return false;
    *v = *v < 0 ? -value : value;
    return true;
}

/* The rod stood on a point that another set-up, which reads the same point, has near it in the book. */
static inline bool
trial_wrong_point(struct trial *t, size_t i)
{
    struct trial_sight *s = &t->sight[i];
    size_t near[TRIAL_SIGHTS], n = 0;
    for (size_t j = 0; j < t->sights; j++) {
        if (t->sight[j].point != s->point || t->sight[j].setup == s->setup)
            continue;
        for (size_t k = j > 3 ? j - 3 : 0; k <= j + 3 && k < t->sights; k++)
            if (t->sight[k].setup == t->sight[j].setup && t->sight[k].point != s->point && trial_sees(t, s->setup, t->sight[k].point)
                && !trial_is_read_from(t, s->setup, t->sight[k].point))
                near[n++] = k;
    }
    if (n == 0)
        return false;
    size_t k = near[chance_below(&t->chance, n)];
    s->booked = trial_read_off(t, t->hi[s->setup] - t->point[t->sight[k].point].z + chance_normal(&t->chance) * t->rod->sigma);
    return s->booked != s->read && !t->point[t->sight[k].point].top;
}

static inline bool
trial_slip_value(struct trial *t, enum suspect_slip slip, size_t i)
{
    struct trial_sight *s = &t->sight[i];
    length v = s->read, tenth = t->rod->whole / 10;
    bool inched = t->rod->bare == LENGTH_BARE_FT_IN, metric = t->rod->bare == LENGTH_BARE_M, done = false;
    double sign = chance_of(&t->chance, 0.5) ? 1 : -1;
    switch (slip) {
    case SUSPECT_WHOLE:
        done = trial_step_value(t, &v, t->rod->whole);
        break;
    case SUSPECT_TENTH:
        done = !inched && trial_step_value(t, &v, tenth);
        break;
    case SUSPECT_SMALL:
        done = (inched || metric) && trial_step_value(t, &v, inched ? LENGTH_IN : LENGTH_CM);
        break;
    case SUSPECT_DIGITS:
        done = trial_swap_digits(t, &v);
        break;
    case SUSPECT_SIX_NINE:
        done = trial_take_for(t, &v, '6', '9');
        break;
    case SUSPECT_THREE_EIGHT:
        done = trial_take_for(t, &v, '3', '8');
        break;
    case SUSPECT_INCHES:
        done = trial_mix_inches(t, &v);
        break;
    case SUSPECT_BEYOND_WHOLE:
        done = !metric && trial_mirror(&v, LENGTH_FT);
        break;
    case SUSPECT_BEYOND_SMALL:
        done = trial_mirror(&v, inched ? LENGTH_IN : tenth);
        break;
    case SUSPECT_SIGN:
        done = v < 0;
        v = -v;
        break;
    case SUSPECT_HAIR: /* the sight is booked to a metre or so; the hairs know better */
        done = s->dist > 0;
        v = trial_read_off(t, s->real + sign * (s->dist + chance_between(&t->chance, -0.2, 0.2)) / 200);
        break;
    case SUSPECT_OTHER:
        v = trial_read_off(t, s->real + chance_between(&t->chance, -2, 2));
        done = (v < 0) == (s->read < 0);
        break;
    default:
        break;
    }
    s->booked = v;
    return done && v != s->read && trial_in_rod(t, v);
}

static inline bool
trial_exchange(struct trial *t, size_t i, size_t j)
{
    t->other = j;
    t->sight[i].booked = t->sight[j].read;
    t->sight[j].booked = t->sight[i].read;
    return t->sight[i].read != t->sight[j].read;
}

/* From a sight on, all readings of the set-up, or all on that point, are by so much different. */
static inline bool
trial_shift(struct trial *t, size_t from, bool by_point)
{
    double c = chance_between(&t->chance, -0.1, 0.1);
    for (size_t i = from; i < t->sights; i++)
        if (by_point ? t->sight[i].point == t->sight[from].point : t->sight[i].setup == t->sight[from].setup)
            t->sight[i].booked = trial_read_off(t, t->sight[i].real + c);
    return true;
}

static inline bool
trial_short_rod(struct trial *t)
{
    length joint = llround(chance_between(&t->chance, 1.1, 2.3) * 1e9);
    double c = chance_between(&t->chance, -0.3, 0.3);
    size_t n = 0;
    for (size_t i = 0; i < t->sights; i++)
        if (t->sight[i].read >= joint) {
            t->sight[i].booked = trial_read_off(t, t->sight[i].real + c);
            n++;
        }
    return n > 1 && n < t->sights;
}

static inline bool
trial_make_slip(struct trial *t, enum suspect_slip slip, size_t place)
{
    bool sight = place < t->sights;
    struct trial_sight *s = &t->sight[sight ? place : 0];
    bool behind = sight && place > 0, turn = behind && s->kind == LEVEL_BS && s[-1].kind == LEVEL_FS && s[-1].point == s->point;
    t->at = place;
    t->other = TRIAL_SIGHTS;
    switch (slip) {
    case SUSPECT_MOVED:
        t->at = place - t->sights;
        if (sight || t->at >= t->points || !t->point[t->at].mark)
            return false;
        t->point[t->at].given += llround(chance_between(&t->chance, -0.3, 0.3) * 1e9 / (double)t->rod->least) * t->rod->least;
        return true;
    case SUSPECT_ROD:
        return place == t->sights + t->points && trial_short_rod(t);
    case SUSPECT_TURN:
        return turn && trial_shift(t, place, true);
    case SUSPECT_INSTRUMENT:
        return sight && s->kind != LEVEL_BS && trial_shift(t, place, false);
    case SUSPECT_TURN_COLUMNS:
        return turn && trial_exchange(t, place - 1, place);
    case SUSPECT_SETUP_COLUMNS:
        if (!sight || s->kind != LEVEL_BS)
            return false;
        while (t->sight[place].kind != LEVEL_FS)
            place++;
        return trial_exchange(t, t->at, place);
    case SUSPECT_POINT:
        return sight && trial_wrong_point(t, place);
    default:
        return sight && trial_slip_value(t, slip, place);
    }
}

static inline bool
trial_is_bookable(const struct trial *t)
{
    for (size_t i = 0; i < t->sights; i++)
        if (!trial_in_rod(t, t->sight[i].booked))
            return false;
    return true;
}

#define TRIAL_ANY SUSPECT_SLIPS

/* Place and slip are drawn together, by the weights of the table, until they go together; or the place alone. -1 where
 * the slip that is asked for goes nowhere. */
static inline int
trial_slip(struct trial *t, enum suspect_slip wanted)
{
    double all = 0;
    for (size_t i = 0; i < SUSPECT_SLIPS; i++)
        all += suspect_table[i].weight;
    for (int tries = 0; tries < 5000; tries++) {
        size_t place = chance_below(&t->chance, t->sights + t->points + 1), slip = 0;
        double drawn = chance_between(&t->chance, 0, all);
        while (slip + 1 < SUSPECT_SLIPS && drawn >= suspect_table[slip].weight)
            drawn -= suspect_table[slip++].weight;
        t->slip = wanted == TRIAL_ANY ? (enum suspect_slip)slip : wanted;
        if (trial_make_slip(t, t->slip, place) && trial_is_bookable(t))
            return 0;
        for (size_t i = 0; i < t->sights; i++)
            t->sight[i].booked = t->sight[i].read;
    }
    return -1;
}

/* ---- the record ---- */

static inline void
trial_name(const struct trial *t, int point, char out[48])
{
    snprintf(out, 48, t->point[point].mark ? "M%d" : t->point[point].top ? "P%d, on: top" : "P%d", point + 1);
}

static inline size_t
trial_record(const struct trial *t, char *out, size_t room)
{
    char name[48], v[LENGTH_TEXT];
    const char *far = t->rod->bare == LENGTH_BARE_M ? "" : " m";
    size_t n = (size_t)snprintf(out, room, "---\njob: A trial\nunit: %s\nleast: %s\nrod-length: %s\nallow: %s\nsigma: %s\n---\nmarks:\n",
        t->rod->unit, t->rod->least_text, t->rod->length_text, t->rod->allow, t->rod->sigma_text);
    for (size_t i = 0; i < t->points; i++) {
        if (!t->point[i].mark)
            continue;
        trial_text(t, t->point[i].given, v);
        n += (size_t)snprintf(out + n, room - n, "  M%zu: {elevation: %s}\n", i + 1, v);
    }
    n += (size_t)snprintf(out + n, room - n, "---\nlevels:\n  readings:\n");
    static const char *const kinds[] = { "bs", "is", "fs" };
    for (size_t i = 0; i < t->sights; i++) {
        const struct trial_sight *s = &t->sight[i];
        bool both = s->kind == LEVEL_FS && i + 1 < t->sights;
        trial_name(t, s->point, name);
        trial_text(t, s->booked, v);
        n += (size_t)snprintf(out + n, room - n, "    - {at: %s, %s: %s", name, kinds[s->kind], v);
        if (s->dist > 0)
            n += (size_t)snprintf(out + n, room - n, ", %s: %.0f%s", s->kind == LEVEL_BS ? "bs-dist" : both ? "fs-dist" : "dist", s->dist, far);
        if (both) {
            trial_text(t, s[1].booked, v);
            n += (size_t)snprintf(out + n, room - n, ", bs: %s", v);
            if (s[1].dist > 0)
                n += (size_t)snprintf(out + n, room - n, ", bs-dist: %.0f%s", s[1].dist, far);
            i++;
        }
        n += (size_t)snprintf(out + n, room - n, "}\n");
    }
    return n < room ? n : 0;
}

/* ---- how it came out ---- */

static inline bool
trial_is_it(const struct trial *t, const struct suspects *s, const struct suspect *x)
{
    const struct suspects_place *p = &s->place[x->reading];
    if (t->slip == SUSPECT_MOVED)
        return p->mark != JOB_NONE && s->job->level_spot[p->spot].state == LEVEL_MARK && s->job->r->mark[p->mark].elevation == t->point[t->at].given
            && strtol(names_text(&s->job->r->names, s->job->spot[p->spot].at) + 1, NULL, 10) == (long)t->at + 1;
    if (t->slip == SUSPECT_ROD || p->sight == JOB_NONE)
        return t->slip == SUSPECT_ROD && x->slip == SUSPECT_ROD;
    if (x->slip == SUSPECT_ROD)
        return false;
    if (t->slip == SUSPECT_INSTRUMENT) { /* readings that stand on no loop tell nothing of when it was */
        size_t i = t->at;
        while (i < x->reading && s->standing[i] == SUSPECT_UNCHECKED)
            i++;
        return i == x->reading && t->sight[i].setup == t->sight[t->at].setup;
    }
    bool turn = t->slip == SUSPECT_TURN && p->sight + 1 == t->at;
    bool second = x->other != LEVEL_NONE && x->slip != SUSPECT_POINT && s->place[x->other].sight == t->at;
    return p->sight == t->at || p->sight == t->other || turn || second;
}

static inline void
trial_judge(struct trial *t, const struct suspects *s)
{
    const struct suspects_fault *f = NULL;
    const struct suspect *own = NULL;
    t->outside = s->faults > 0;
    for (size_t i = 0; i < s->faults; i++)
        if (!f || s->fault[i].loops > f->loops)
            f = &s->fault[i];
    if (!f)
        return;
    for (size_t i = 0; i < f->count; i++) {
        const struct suspect *x = &s->suspect[f->first + i];
        if (!trial_is_it(t, s, x))
            continue;
        if (t->rank == 0)
            t->rank = i + 1;
        if (x->slip == t->slip && !own)
            own = x;
    }
    t->named = own != NULL;
    t->identifiable = true; /* a slip that is not named at all cannot be excused */
    for (size_t i = 0; own && i < f->count; i++) {
        const struct suspect *x = &s->suspect[f->first + i];
        if (!trial_is_it(t, s, x) && x->prior >= own->prior - 1e-9 && x->remains <= own->remains + 1e-9)
            t->identifiable = false;
    }
}

#define TRIAL_NO_SLIP (SUSPECT_SLIPS + 1)

/* One loop. 0; 1 where that slip goes nowhere in it; -1 where something is off that is no matter of chance. */
static inline int
trial_run(struct trial *t, uint64_t number, unsigned wanted)
{
    static char text[TRIAL_SIGHTS * 120 + 20000];
    struct record r = { 0 };
    struct job job = { 0 };
    struct suspects s = { 0 };
    struct diag d = { 0 };
    *t = (struct trial){ .chance = { number * UINT64_C(0x2545f4914f6cdd1d) + 77 } };
    trial_loop(t);
    if (wanted != TRIAL_NO_SLIP && trial_slip(t, (enum suspect_slip)wanted) != 0)
        return 1;
    size_t n = trial_record(t, text, sizeof text);
    struct source source = source_of_bytes(text, n);
    int rc = n > 0 && record_read(&r, &source, &d) == 0 && d.errors == 0 && job_work(&job, &r, &(struct job_options){ 0 }, &d) == 0
            && d.errors == 0 && suspects_open(&s, &job, &d) == 0 && d.errors == 0
        ? 0
        : -1;
    if (rc == 0)
        trial_judge(t, &s);
    else if (d.n > 0)
        fprintf(stderr, "loop %llu: line %u: %s\n%s", (unsigned long long)number, (unsigned)d.item[0].place.line, d.item[0].text, text);
    suspects_release(&s);
    job_release(&job);
    record_release(&r);
    diag_release(&d);
    return rc;
}

/* ---- many of them ---- */

struct trial_tally {
    size_t loops, outside, identifiable, named, first, third; /* first and third: of the identifiable ones */
    size_t any_first, any_third;                                 /* of all that are outside */
};

static inline void
trial_count(struct trial_tally *y, const struct trial *t)
{
    y->loops++;
    y->outside += t->outside;
    y->named += t->outside && t->named;
    y->any_first += t->outside && t->rank == 1;
    y->any_third += t->outside && t->rank >= 1 && t->rank <= 3;
    y->identifiable += t->outside && t->identifiable;
    y->first += t->outside && t->identifiable && t->rank == 1;
    y->third += t->outside && t->identifiable && t->rank >= 1 && t->rank <= 3;
}

#endif
