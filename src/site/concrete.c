#include "rodbook/concrete.h"

#define PI 3.14159265358979323846

static double
metres(length nm)
{
    return (double)nm / (double)LENGTH_M;
}

/* Between two diameters, `h` apart. */
static double
frustum(double d0, double d1, double h)
{
    return PI * h * (d0 * d0 + d0 * d1 + d1 * d1) / 12;
}

static length
least_of(length a, length b)
{
    return a < b ? a : b;
}

/* All of the hole below a height. */
static double
below(const struct site_hole *h, length height)
{
    length shaft_top = h->depth - h->collar_height;
    length bell = least_of(height, h->bell_height), shaft = least_of(height, shaft_top) - h->bell_height;
    double d = metres(h->diameter), wide = metres(h->bell_diameter), v = 0;
    if (bell > 0) {
        double at = wide - (wide - d) * (double)bell / (double)h->bell_height;
        v += frustum(wide, at, metres(bell));
    }
    if (shaft > 0)
        v += frustum(d, d, metres(shaft));
    if (height > shaft_top)
        v += frustum(metres(h->collar_diameter), metres(h->collar_diameter), metres(height - shaft_top));
    return v;
}

static double
section_of(const struct site_post *p)
{
    double a = metres(p->along);
    return p->round ? PI * a * a / 4 : a * metres(p->across);
}

/* The diameter, or the diagonal. */
static double
across_of(const struct site_post *p)
{
    double a = (double)p->along, b = (double)p->across;
    return p->round ? a : __builtin_sqrt(a * a + b * b);
}

static enum site_concrete_status
look_at(const struct site_hole *h, const struct site_post *post, const struct site_fill *fill)
{
    if (h->depth <= 0 || h->diameter <= 0)
        return SITE_CONCRETE_ESHAPE;
    if (h->bell_height > 0 && h->bell_diameter < h->diameter)
        return SITE_CONCRETE_EBELL;
    if (h->bell_height + h->collar_height > h->depth)
        return SITE_CONCRETE_EBELL;
    if (h->collar_height > 0 && h->collar_diameter < h->diameter)
        return SITE_CONCRETE_ECOLLAR;
    if (fill->from < 0 || fill->to < fill->from || fill->to > h->depth)
        return SITE_CONCRETE_EFILL;
    return across_of(post) >= (double)h->diameter ? SITE_CONCRETE_EPOST : SITE_CONCRETE_OK;
}

enum site_concrete_status
site_concrete_fill(const struct site_hole *h, const struct site_post *post, const struct site_fill *fill, struct site_volumes *v)
{
    enum site_concrete_status s = look_at(h, post, fill);
    if (s != SITE_CONCRETE_OK)
        return s;
    length foot = fill->foot > fill->from ? fill->foot : fill->from;
    double stands = fill->to > foot ? section_of(post) * metres(fill->to - foot) : 0;
    *v = (struct site_volumes){ below(h, h->depth), stands, below(h, fill->to) - below(h, fill->from) - stands };
    return SITE_CONCRETE_OK;
}

length
site_concrete_least(const struct site_post *post)
{
    return (length)(across_of(post) + 0.5) + SITE_WIDER_THAN_POST;
}

double
site_concrete_count(double volume, double each)
{
    double n = volume / each;
    if (!(n < 9e15))
        return n; /* whole already, or no number */
    double whole = (double)(int64_t)n;
    return n - whole > 1e-9 * (n > 1 ? n : 1) ? whole + 1 : whole;
}
