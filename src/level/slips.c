/* slips.c - signatures: what a reading should have been, if it was misread or miswritten in one of the usual ways */
#include "slips.h"

/* Values as they are found. */
struct variants {
    const struct suspect_scene *scene;
    const struct suspect_reading *reading;
    length *instead;
    size_t n;
};

static struct variants
begin(const struct suspect_scene *scene, uint32_t reading, length *instead)
{
    return (struct variants){ scene, &scene->reading[reading], instead, 0 };
}

static bool
is_sight(const struct suspect_reading *r)
{
    return r->source <= SUSPECT_FS;
}

static length
magnitude(length v)
{
    return v < 0 ? -v : v;
}

static void
propose(struct variants *v, length instead)
{
    if (instead == v->reading->value || (is_sight(v->reading) && magnitude(instead) > v->scene->rod)
        || v->n == SUSPECT_VARIANTS)
        return;
    for (size_t i = 0; i < v->n; i++)
        if (v->instead[i] == instead)
            return;
    v->instead[v->n++] = instead;
}

/* Another figure with the same sign: what is read is a figure, and the sign is put before it. */
static void
propose_figure(struct variants *v, length figure)
{
    if (figure >= 0)
        propose(v, v->reading->value < 0 ? -figure : figure);
}

static length
whole_of(const struct suspect_scene *scene)
{
    return scene->unit == LENGTH_BARE_M ? LENGTH_M : LENGTH_FT;
}

static bool
is_inched(const struct suspect_scene *scene)
{
    return scene->unit == LENGTH_BARE_FT_IN;
}

/* ---- a figure of the rod too many or too few ---- */

static size_t
either_way(const struct suspect_scene *scene, uint32_t reading, length *instead, length step)
{
    struct variants v = begin(scene, reading, instead);
    length figure = magnitude(v.reading->value);
    if (step > scene->least) {
        propose_figure(&v, figure + step);
        propose_figure(&v, figure - step);
    }
    return v.n;
}

size_t
suspect_whole(const struct suspect_scene *scene, uint32_t reading, length *instead)
{
    return either_way(scene, reading, instead, whole_of(scene));
}

size_t
suspect_tenth(const struct suspect_scene *scene, uint32_t reading, length *instead)
{
    return is_inched(scene) ? 0 : either_way(scene, reading, instead, whole_of(scene) / 10);
}

size_t
suspect_small(const struct suspect_scene *scene, uint32_t reading, length *instead)
{
    return either_way(scene, reading, instead, is_inched(scene) ? LENGTH_IN : whole_of(scene) / 100);
}

/* ---- the wrong side of a figure ---- */

/* At the figure 2: 2.1, 2.2, 2.3 for 1.9, 1.8, 1.7. */
static size_t
mirrored(const struct suspect_scene *scene, uint32_t reading, length *instead, length step)
{
    struct variants v = begin(scene, reading, instead);
    length value = magnitude(v.reading->value), below = value - value % step, above = below + step;
    if (!is_sight(v.reading) || v.reading->meaned || step <= scene->least)
        return 0;
    if (value - below <= above - value)
        propose_figure(&v, 2 * below - value);
    if (value - below >= above - value)
        propose_figure(&v, 2 * above - value);
    return v.n;
}

/* Metric rods have no figure for metres of their own: theirs are decimetres. */
size_t
suspect_beyond_whole(const struct suspect_scene *scene, uint32_t reading, length *instead)
{
    return scene->unit == LENGTH_BARE_M ? 0 : mirrored(scene, reading, instead, LENGTH_FT);
}

size_t
suspect_beyond_small(const struct suspect_scene *scene, uint32_t reading, length *instead)
{
    return mirrored(scene, reading, instead, is_inched(scene) ? LENGTH_IN : whole_of(scene) / 10);
}

/* ---- digits, as they are booked ---- */

#define DIGITS_MOST 18

/* A reading as a row of figures, the last one first; what cannot be written so has none. */
struct figures {
    length step;  /* nm, of the last one */
    length rest;  /* nm: the part of an inch */
    int digit[DIGITS_MOST];
    int n;
    int inch;     /* of feet and inches: the inches as a number, and `digit` has the feet; else -1 */
};

static void
figures_of_number(struct figures *f, length number, int at_least)
{
    while ((number > 0 || f->n < at_least) && f->n < DIGITS_MOST) {
        f->digit[f->n++] = (int)(number % 10);
        number /= 10;
    }
}

static struct figures
figures_of(const struct suspect_scene *scene, const struct suspect_reading *r)
{
    struct figures f = { .inch = -1 };
    length value = magnitude(r->value), whole = whole_of(scene);
    if (r->meaned)
        return f;
    if (is_inched(scene)) {
        f.step = LENGTH_FT;
        f.rest = value % LENGTH_IN;
        f.inch = (int)(value % LENGTH_FT / LENGTH_IN);
        figures_of_number(&f, value / LENGTH_FT, 1);
        return f;
    }
    int places = 1;
    f.step = whole / 10;
    while (places < 6 && (scene->least % f.step != 0 || value % f.step != 0)) {
        f.step /= 10;
        places++;
    }
    if (value % f.step == 0)
        figures_of_number(&f, value / f.step, places + 1);
    return f;
}

static length
number_of(const struct figures *f)
{
    length number = 0;
    for (int i = f->n; i > 0; i--)
        number = number * 10 + f->digit[i - 1];
    return number * f->step + (f->inch > 0 ? f->inch * LENGTH_IN : 0) + f->rest;
}

size_t
suspect_digits(const struct suspect_scene *scene, uint32_t reading, length *instead)
{
    struct variants v = begin(scene, reading, instead);
    struct figures f = figures_of(scene, v.reading);
    for (int i = 1; i < f.n; i++) {
        struct figures other = f;
        other.digit[i] = f.digit[i - 1];
        other.digit[i - 1] = f.digit[i];
        propose_figure(&v, number_of(&other));
    }
    if (f.inch >= 0 && f.inch < 10) { /* 4' 7" and 7' 4" */
        struct figures other = f;
        other.inch = f.digit[0];
        other.digit[0] = f.inch;
        propose_figure(&v, number_of(&other));
    }
    return v.n;
}

static size_t
one_for_another(const struct suspect_scene *scene, uint32_t reading, length *instead, int one, int another)
{
    struct variants v = begin(scene, reading, instead);
    struct figures f = figures_of(scene, v.reading);
    for (int i = 0; i < f.n; i++) {
        struct figures other = f;
        other.digit[i] = f.digit[i] == one ? another : f.digit[i] == another ? one : f.digit[i];
        propose_figure(&v, number_of(&other));
    }
    if (f.inch == one || f.inch == another) {
        struct figures other = f;
        other.inch = f.inch == one ? another : one;
        propose_figure(&v, number_of(&other));
    }
    return v.n;
}

size_t
suspect_six_nine(const struct suspect_scene *scene, uint32_t reading, length *instead)
{
    return one_for_another(scene, reading, instead, 6, 9);
}

size_t
suspect_three_eight(const struct suspect_scene *scene, uint32_t reading, length *instead)
{
    return one_for_another(scene, reading, instead, 3, 8);
}

/* ---- inches and tenths ---- */

/*
 * In decimal feet: 5' 6" booked 5.6 or 5.06. A booking with one figure behind
 * the point may be inches up to 9, one with two, .00 to .11, inches up to 11.
 * In feet and inches: 5.6 booked 5' 6", and whole inches up to 9.
 */
size_t
suspect_inches(const struct suspect_scene *scene, uint32_t reading, length *instead)
{
    struct variants v = begin(scene, reading, instead);
    length value = magnitude(v.reading->value), part = value % LENGTH_FT, feet = value - part;
    const length tenth = LENGTH_FT / 10, hundredth = LENGTH_FT / 100;
    if (scene->unit == LENGTH_BARE_M || v.reading->meaned || part == 0)
        return 0;
    bool inched = is_inched(scene);
    if (part % LENGTH_IN == 0 && part < 10 * LENGTH_IN && (inched || value % scene->least != 0))
        propose_figure(&v, feet + part / LENGTH_IN * tenth);
    if (!inched && part % tenth == 0)
        propose_figure(&v, feet + part / tenth * LENGTH_IN);
    if (!inched && part % hundredth == 0 && part < 12 * hundredth)
        propose_figure(&v, feet + part / hundredth * LENGTH_IN);
    return v.n;
}

/* ---- signs and hairs ---- */

size_t
suspect_sign(const struct suspect_scene *scene, uint32_t reading, length *instead)
{
    struct variants v = begin(scene, reading, instead);
    if (v.reading->source != SUSPECT_MARK)
        propose(&v, -v.reading->value);
    return v.n;
}

/* Half the interval of hairs that give 100 times it as distance. */
size_t
suspect_hair(const struct suspect_scene *scene, uint32_t reading, length *instead)
{
    struct variants v = begin(scene, reading, instead);
    length figure = magnitude(v.reading->value), half = v.reading->dist / 200;
    if (!is_sight(v.reading) || v.reading->meaned || v.reading->dist <= 0)
        return 0;
    propose_figure(&v, figure + half);
    propose_figure(&v, figure - half);
    return v.n;
}
