#include "rodbook/quantity.h"

#include <math.h>
#include <stdbool.h>
#include <stdint.h>
#include <string.h>

#define MM2 1e-6                        /* m^2 */
#define CM2 1e-4                        /* m^2 */
#define IN2 (QUANTITY_INCH * QUANTITY_INCH) /* m^2 */
#define POUND_FORCE (QUANTITY_POUND * QUANTITY_GRAVITY) /* N */

struct unit {
    const char *word;
    double factor;
};

/* value = number * factor; temperatures, in F, have an offset besides. */
static const struct unit temperature_units[] = { { "F", 1 / 1.8 }, { "C", 1 } };
static const struct unit force_units[] = { { "lb", POUND_FORCE }, { "lbf", POUND_FORCE }, { "N", 1 }, { "kN", 1000 },
    { "kg", QUANTITY_GRAVITY }, { "kgf", QUANTITY_GRAVITY } };
static const struct unit mass_units[] = { { "lb", QUANTITY_POUND }, { "oz", QUANTITY_POUND / 16 }, { "kg", 1 }, { "g", 0.001 } };
static const struct unit area_units[] = { { "in2", IN2 }, { "mm2", MM2 }, { "cm2", CM2 } };
static const struct unit stress_units[] = { { "psi", POUND_FORCE / IN2 }, { "ksi", 1000 * POUND_FORCE / IN2 }, { "Pa", 1 },
    { "MPa", 1e6 }, { "GPa", 1e9 }, { "N/mm2", 1e6 }, { "kg/cm2", QUANTITY_GRAVITY / CM2 } };
static const struct unit expansion_units[] = { { "/F", 1.8 }, { "per F", 1.8 }, { "/C", 1 }, { "per C", 1 }, { "/K", 1 }, { "per K", 1 } };
static const struct unit slope_units[] = { { "%", 0.01 }, { "deg", 0.017453292519943295 } }; /* pi / 180 */

#define UNITS(list) list, sizeof(list) / sizeof *(list)

static const struct kind {
    const struct unit *unit;
    size_t units;
    double least, most; /* of the value; both allowed */
    const char *unit_advice, *range_advice;
} kinds[QUANTITY_KINDS] = {
    { UNITS(temperature_units), -60, 80, "is no temperature; write 50 F or 10 C", "is no temperature that anybody tapes at" },
    { UNITS(force_units), 1e-3, 5000, "is no pull; write 15 lb, 65 N or 7 kg", "is no pull for a tape" },
    { UNITS(mass_units), 1e-4, 100, "is no weight; write 2.2 lb, 35 oz or 1 kg", "is no weight of a tape" },
    { UNITS(area_units), 1e-9, 1e-3, "is no section area; write 0.004 in2 or 2.6 mm2", "is no section of a tape" },
    { UNITS(stress_units), 1e6, 1e13, "is no modulus; write 2.9e7 psi, 200 GPa or 2.1e6 kg/cm2", "is no modulus of any tape" },
    { UNITS(expansion_units), 1e-9, 1e-3, "is no expansion; write 0.00000645 /F or 0.0000116 /C", "is no expansion of any tape" },
    { UNITS(slope_units), -0.78539816339744831, 0.78539816339744831 /* pi / 4 */, "is no slope; write 3 %, 5 deg or 1 in 20",
        "is steeper than 1 in 1; tape that in steps" },
};

static bool
is_digit(char c)
{
    return c >= '0' && c <= '9';
}

/* 10^n, exact up to 22. */
static double
power_of_ten(int n)
{
    double p = 1;
    for (; n > 0; n--)
        p *= 10;
    return p;
}

/* Digits from *at on, with a point in them; counts decimals. False where there is none, or more than a double holds whole. */
static bool
read_digits(const char *text, size_t n, size_t *at, double *digits, int *decimals)
{
    uint64_t whole = 0;
    size_t i = *at, first = i, point = SIZE_MAX;
    int figures = 0;
    for (; i < n && (is_digit(text[i]) || (text[i] == '.' && point == SIZE_MAX)); i++) {
        if (text[i] == '.') {
            point = i;
            continue;
        }
        whole = figures <= 15 ? whole * 10 + (uint64_t)(text[i] - '0') : whole;
        figures += whole > 0;
    }
    bool ends_in_point = i > first && text[i - 1] == '.';
    if (i == first || point == first || ends_in_point || figures > 15)
        return false;
    *digits = (double)whole;
    *decimals = point == SIZE_MAX ? 0 : (int)(i - point - 1);
    *at = i;
    return true;
}

/* e7, e-6; nothing where no exponent stands there. */
static bool
read_exponent(const char *text, size_t n, size_t *at, int *exponent)
{
    size_t i = *at;
    int v = 0;
    bool below = false;
    *exponent = 0;
    if (i + 1 >= n || text[i] != 'e' || !(is_digit(text[i + 1]) || text[i + 1] == '-' || text[i + 1] == '+'))
        return true;
    i++;
    if (!is_digit(text[i]))
        below = text[i++] == '-';
    if (i == n || !is_digit(text[i]))
        return false;
    for (; i < n && is_digit(text[i]) && v < 100; i++)
        v = v * 10 + (text[i] - '0');
    *exponent = below ? -v : v;
    *at = i;
    return v < 23;
}

static enum quantity_status
read_number(const char *text, size_t n, size_t *at, double *value)
{
    double digits;
    int decimals, exponent;
    bool below = n > 0 && text[0] == '-';
    *at = n > 0 && (text[0] == '-' || text[0] == '+');
    if (!read_digits(text, n, at, &digits, &decimals) || decimals > 22)
        return QUANTITY_EFORM;
    if (*at < n && text[*at] == ',')
        return QUANTITY_ECOMMA;
    if (!read_exponent(text, n, at, &exponent))
        return QUANTITY_EFORM;
    exponent -= decimals;
    double v = exponent < 0 ? digits / power_of_ten(-exponent) : digits * power_of_ten(exponent);
    *value = below ? -v : v;
    return QUANTITY_OK;
}

/* "1 in 20", with the number before "in" read already. */
static bool
read_ratio(const char *text, size_t n, size_t at, double over, double *tangent)
{
    double under;
    size_t end;
    if (n - at < 4 || memcmp(text + at, "in ", 3) != 0 || read_number(text + at + 3, n - at - 3, &end, &under) != QUANTITY_OK
        || end != n - at - 3 || !(under > 0))
        return false;
    *tangent = over / under;
    return true;
}

static enum quantity_status
scale(const char *text, size_t n, size_t at, enum quantity_kind kind, double *value)
{
    const struct kind *k = &kinds[kind];
    for (size_t i = 0; i < k->units; i++) {
        if (strlen(k->unit[i].word) != n - at || memcmp(k->unit[i].word, text + at, n - at) != 0)
            continue;
        if (kind == QUANTITY_TEMPERATURE && i == 0)
            *value = (*value - 32) / 1.8;
        else if (kind == QUANTITY_SLOPE && i == 0)
            *value = atan(*value / 100);
        else
            *value *= k->unit[i].factor;
        return QUANTITY_OK;
    }
    if (kind != QUANTITY_SLOPE || !read_ratio(text, n, at, *value, value))
        return QUANTITY_EUNIT;
    *value = atan(*value);
    return QUANTITY_OK;
}

enum quantity_status
quantity_read(const char *text, size_t n, enum quantity_kind kind, double *value)
{
    double v;
    size_t at;
    enum quantity_status s = read_number(text, n, &at, &v);
    if (s != QUANTITY_OK)
        return s;
    at += at < n && text[at] == ' ';
    if ((s = scale(text, n, at, kind, &v)) != QUANTITY_OK)
        return s;
    if (!(v >= kinds[kind].least && v <= kinds[kind].most))
        return QUANTITY_ERANGE;
    *value = v;
    return QUANTITY_OK;
}

const char *
quantity_advice(enum quantity_status status, enum quantity_kind kind)
{
    switch (status) {
    case QUANTITY_ECOMMA:
        return "has a decimal comma; write a point before the decimals";
    case QUANTITY_ERANGE:
        return kinds[kind].range_advice;
    case QUANTITY_EFORM:
    case QUANTITY_EUNIT:
    case QUANTITY_OK:
        break;
    }
    return kinds[kind].unit_advice;
}
