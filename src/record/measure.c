/* measure.c - volumes, masses, densities, percentages and bearings */
#include "measure.h"

#include "rodbook/quantity.h"

#include <string.h>

struct measure {
    const char *word;
    double size; /* in m^3, kg or kg/m^3, or as a share */
};

#define FT3 0.028316846592 /* m^3: the foot cubed */
#define YD3 0.764554857984 /* m^3: the yard cubed */

/* The other cubic units are those of length cubed; litre: SI brochure, 9th edition, table 8; pound, and the short ton of 2000 lb:
 * NIST Handbook 44, appendix C. */
static const struct measure volumes[] = { { "ft3", FT3 }, { "yd3", YD3 }, { "in3", 0.000016387064 }, { "m3", 1 }, { "L", 0.001 } };
static const struct measure masses[] = { { "lb", QUANTITY_POUND }, { "kg", 1 } };
static const struct measure densities[] = { { "t/m3", 1000 }, { "kg/m3", 1 }, { "lb/ft3", QUANTITY_POUND / FT3 },
    { "lb/yd3", QUANTITY_POUND / YD3 }, { "short ton/yd3", 2000 * QUANTITY_POUND / YD3 } };
static const struct measure shares[] = { { "%", 0.01 } };
static const struct measure bearings[] = { { "deg", 1 } };

#define MOST 1e9 /* of any of these numbers: beyond stands a slip of the pen */

/* Digits, with decimals where `point` allows them; where they end, NULL where there are none. */
static const char *
read_digits(const char *p, bool point, double *value)
{
    double v = 0, place = 1;
    const char *start = p;
    for (; *p >= '0' && *p <= '9'; p++)
        v = v * 10 + (*p - '0');
    if (p == start || p - start > 15)
        return NULL;
    if (point && p[0] == '.' && p[1] >= '0' && p[1] <= '9')
        for (p++; *p >= '0' && *p <= '9'; p++) {
            v = v * 10 + (*p - '0');
            place *= 10;
            if (place > 1e12)
                return NULL;
        }
    *value = v / place;
    return p;
}

/* "0.60", "1/4", "1-1/2", "1 1/2"; where it ends, NULL where it is no number. */
static const char *
read_number(const char *p, double *value)
{
    double whole = 0, over, under;
    const char *end = read_digits(p, true, &over);
    if (!end)
        return NULL;
    const char *joined = *end == '-' || *end == ' ' ? end + 1 : NULL, *slash = joined ? joined + strspn(joined, "0123456789") : end;
    if (joined && slash > joined && *slash == '/') {
        whole = over;
        if (memchr(p, '.', (size_t)(end - p)))
            return NULL;
        end = read_digits(joined, false, &over);
    }
    if (end && *end == '/') {
        end = read_digits(end + 1, false, &under);
        if (!end || !(under > 0) || (whole > 0 && over >= under))
            return NULL;
        over /= under;
    }
    *value = whole + over;
    return end;
}

static bool
read_measure(const char *text, const struct measure *unit, size_t units, double *value)
{
    double number;
    const char *end = read_number(text, &number);
    if (!end || number > MOST)
        return false;
    end += *end == ' ';
    for (size_t i = 0; i < units; i++)
        if (strcmp(end, unit[i].word) == 0) {
            *value = number * unit[i].size;
            return true;
        }
    return false;
}

/* The text at hand read so. */
static bool
reads(const struct reader *in, const struct measure *unit, size_t units, double *value)
{
    const char *text = events_text(&in->e);
    return strlen(text) == events_length(&in->e) && read_measure(text, unit, units, value);
}

/* The text at hand in a complaint. */
static const char *
shown(const struct reader *in)
{
    const char *text = events_text(&in->e);
    size_t n = events_length(&in->e);
    return text_is_plain(text, n) && n < 40 ? text : "this value";
}

static bool
take_measure(struct reader *in, const struct field *field, const struct measure *unit, size_t units, const char *what,
    const char *write, double *value)
{
    if (!wants_scalar(in, what))
        return false;
    if (reads(in, unit, units, value))
        return true;
    complain(in, "measure", "%s: %s is not %s; write %s", field->key, shown(in), what, write);
    return false;
}

static void
take_above_zero(struct reader *in, double *at, const struct field *field, const struct measure *unit, size_t units,
    const char *what, const char *write)
{
    double value = 0;
    if (!take_measure(in, field, unit, units, what, write, &value))
        return;
    if (value > 0)
        *at = value;
    else
        complain(in, "range", "%s: %s is not above 0", field->key, events_text(&in->e));
}

void
take_volume(struct reader *in, void *at, const struct field *field)
{
    take_above_zero(in, at, field, volumes, sizeof volumes / sizeof volumes[0], "a volume with its unit",
        "0.60 ft3, 1/4 yd3, 0.1 m3 or 17 L");
}

void
take_mass(struct reader *in, void *at, const struct field *field)
{
    take_above_zero(in, at, field, masses, sizeof masses / sizeof masses[0], "a mass with its unit", "80 lb or 25 kg");
}

void
take_percent(struct reader *in, void *at, const struct field *field)
{
    double value = 0;
    if (!take_measure(in, field, shares, 1, "a percentage", "10 %", &value))
        return;
    if (value <= 1)
        *(double *)at = value;
    else
        complain(in, "range", "%s: %s is more than 100 %%", field->key, events_text(&in->e));
}

bool
density_of_scalar(struct reader *in, const struct field *field, double *value)
{
    if (!wants_scalar(in, "a density: 1.5 t/m3, 95 lb/ft3"))
        return false;
    if (reads(in, densities, sizeof densities / sizeof densities[0], value))
        return true;
    complain(in, "density", "%s: %s is no density; write 1.5 t/m3, 1500 kg/m3, 95 lb/ft3, 2500 lb/yd3 or 1.25 short ton/yd3", field->key,
        shown(in));
    return false;
}

void
take_bearing(struct reader *in, void *at, const struct field *field)
{
    double value = 360;
    if (!wants_scalar(in, "a bearing with its unit, as 24 deg"))
        return;
    if (reads(in, bearings, 1, &value) && value < 360)
        *(double *)at = value;
    else
        complain(in, "north", "%s: %s is no bearing from 0 up to 360 deg, clockwise from the width direction; write 24 deg", field->key,
            shown(in));
}
