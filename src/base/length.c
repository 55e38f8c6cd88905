#include "rodbook/length.h"

#include <stdlib.h>
#include <string.h>

struct reader {
    const char *at;
    const char *end;
};

/* A decimal number as digits and the count of decimals; no sign. */
struct decimal {
    int64_t digits;
    int places;
    bool any; /* a digit was there */
};

struct unit {
    const char *word;
    length nm;
};

static const struct unit units[] = {
    { "mm", LENGTH_MM }, { "cm", LENGTH_CM }, { "m", LENGTH_M }, { "km", LENGTH_KM },
    { "in", LENGTH_IN }, { "ft", LENGTH_FT }, { "mi", LENGTH_MILE },
    { "'", LENGTH_FT }, { "\"", LENGTH_IN },
};

static const int64_t ten_to[] = { 1, 10, 100, 1000, 10000, 100000, 1000000,
    10000000, 100000000, 1000000000, 10000000000, 100000000000, 1000000000000 };
#define MOST_PLACES 12 /* the finest unit is 1 mi = 1 609 344 000 000 nm: 12 figures */

static bool
is_digit(const struct reader *r)
{
    return r->at < r->end && *r->at >= '0' && *r->at <= '9';
}

static void
skip_blanks(struct reader *r)
{
    while (r->at < r->end && *r->at == ' ')
        r->at++;
}

static bool
take(struct reader *r, char c)
{
    if (r->at == r->end || *r->at != c)
        return false;
    r->at++;
    return true;
}

/* Digits, at most one point; a point needs a digit on both sides. */
static enum length_status
read_decimal(struct reader *r, struct decimal *d)
{
    *d = (struct decimal){ 0 };
    bool point = false;
    while (r->at < r->end) {
        char c = *r->at;
        if (c == '.' && !point && d->any) {
            point = true;
            r->at++;
            if (!is_digit(r))
                return LENGTH_EFORM;
            continue;
        }
        if (c < '0' || c > '9')
            break;
        if (d->digits > (INT64_MAX - 9) / 10)
            return point ? LENGTH_EFINE : LENGTH_ERANGE;
        if (point && d->places == MOST_PLACES) {
            if (c != '0')
                return LENGTH_EFINE;
            r->at++;
            continue;
        }
        d->digits = d->digits * 10 + (c - '0');
        d->places += point;
        d->any = true;
        r->at++;
    }
    if (!d->any)
        return LENGTH_EFORM;
    return r->at < r->end && *r->at == '.' ? LENGTH_EFORM : LENGTH_OK;
}

/* digits / 10^places of `nm` each, plus num / den of `nm`, exactly. */
static enum length_status
scale(struct decimal d, int64_t num, int64_t den, length nm, length *value)
{
    length_wide top = ((length_wide)d.digits * den + (length_wide)num * ten_to[d.places]) * nm;
    length_wide bottom = (length_wide)ten_to[d.places] * den;
    if (top / bottom > LENGTH_MOST)
        return LENGTH_ERANGE;
    if (top % bottom != 0)
        return LENGTH_EFINE;
    *value = (length)(top / bottom);
    return LENGTH_OK;
}

/* A unit word or sign at the reader; NULL, reader unmoved, where there is none. */
static const struct unit *
read_unit(struct reader *r)
{
    size_t n = 0, left = (size_t)(r->end - r->at);
    if (left > 0 && (*r->at == '\'' || *r->at == '"'))
        n = 1;
    else
        while (n < left && r->at[n] >= 'a' && r->at[n] <= 'z')
            n++;
    for (size_t i = 0; i < sizeof units / sizeof units[0]; i++)
        if (strlen(units[i].word) == n && memcmp(units[i].word, r->at, n) == 0) {
            r->at += n;
            return &units[i];
        }
    return NULL;
}

/* The n/d of 7-3/8 or 7 3/8 or 3/8: `whole` is what stood before it. */
static enum length_status
read_fraction(struct reader *r, int64_t *num, int64_t *den)
{
    struct decimal top, bottom;
    if (read_decimal(r, &top) != LENGTH_OK || !take(r, '/')
        || read_decimal(r, &bottom) != LENGTH_OK || top.places || bottom.places)
        return LENGTH_EFORM;
    if (bottom.digits == 0 || bottom.digits > 1000000 || top.digits >= bottom.digits)
        return LENGTH_EINCHES;
    *num = top.digits;
    *den = bottom.digits;
    return LENGTH_OK;
}

/* A number that may be whole, decimal, whole and fraction, or fraction alone. */
struct mixed {
    struct decimal whole;
    int64_t num, den;
    bool fraction;
};

static enum length_status
read_mixed(struct reader *r, struct mixed *m)
{
    *m = (struct mixed){ .den = 1 };
    struct reader start = *r;
    enum length_status s = read_decimal(r, &m->whole);
    if (s != LENGTH_OK)
        return s;
    if (r->at < r->end && *r->at == '/') { /* a fraction alone */
        *r = start;
        m->whole = (struct decimal){ .any = true };
        m->fraction = true;
        return read_fraction(r, &m->num, &m->den);
    }
    struct reader ahead = *r;
    bool joined = take(&ahead, '-');
    if (!joined)
        skip_blanks(&ahead);
    if (ahead.at == r->at || !is_digit(&ahead))
        return LENGTH_OK;
    const char *p = ahead.at;
    while (p < ahead.end && *p >= '0' && *p <= '9')
        p++;
    if (p == ahead.end || *p != '/')
        return joined ? LENGTH_EFORM : LENGTH_OK;
    if (m->whole.places)
        return LENGTH_EFORM;
    *r = ahead;
    m->fraction = true;
    return read_fraction(r, &m->num, &m->den);
}

static length
bare_nm(enum length_unit bare)
{
    return bare == LENGTH_BARE_M ? LENGTH_M : LENGTH_FT;
}

/* Inches behind feet: less than twelve, and an inch sign at the end. */
static enum length_status
read_inches(struct reader *r, length *value)
{
    struct mixed m;
    enum length_status s = read_mixed(r, &m);
    if (s != LENGTH_OK)
        return s;
    skip_blanks(r);
    const struct unit *u = read_unit(r);
    if (!u)
        return m.fraction ? LENGTH_EFRACTION : LENGTH_EFORM;
    if (u->nm != LENGTH_IN)
        return LENGTH_EUNIT;
    length inches;
    s = scale(m.whole, m.num, m.den, LENGTH_IN, &inches);
    if (s != LENGTH_OK)
        return s;
    if (inches >= 12 * LENGTH_IN)
        return LENGTH_EINCHES;
    *value = inches;
    return LENGTH_OK;
}

static enum length_status
read_plain(struct reader *r, enum length_unit bare, length *value)
{
    struct mixed m;
    length v;
    enum length_status s = read_mixed(r, &m);
    if (s != LENGTH_OK)
        return s;
    skip_blanks(r);
    if (r->at == r->end) {
        if (m.fraction)
            return LENGTH_EFRACTION;
        if (bare == LENGTH_BARE_FT_IN)
            return LENGTH_EBARE;
        return scale(m.whole, m.num, m.den, bare_nm(bare), value);
    }
    const struct unit *u = read_unit(r);
    if (!u) {
        char c = *r->at;
        bool letter = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
        if ((c == 'e' || c == 'E') && r->end - r->at > 1 && strchr("+-0123456789", r->at[1]))
            return LENGTH_EEXPONENT;
        return letter ? LENGTH_EUNIT : LENGTH_EFORM;
    }
    if (m.fraction && u->nm != LENGTH_IN)
        return LENGTH_EFRACTION;
    s = scale(m.whole, m.num, m.den, u->nm, &v);
    if (s != LENGTH_OK)
        return s;
    bool joined = take(r, '-'); /* 4'-7" is written too, but not 4' -7" */
    skip_blanks(r);
    if (joined && r->at == r->end)
        return LENGTH_EFORM;
    if (r->at < r->end && u->nm == LENGTH_FT && m.whole.places == 0) {
        length inches;
        s = read_inches(r, &inches);
        if (s != LENGTH_OK)
            return s;
        v += inches;
    }
    if (r->at != r->end)
        return LENGTH_EFORM;
    if (v > LENGTH_MOST)
        return LENGTH_ERANGE;
    *value = v;
    return LENGTH_OK;
}

/* Nanometres in the last place of a number with so many decimals, where that is whole. */
static const length ft_steps[] = { 304800000, 30480000, 3048000, 304800, 30480, 3048 };
static const length m_steps[] = { 1000000000, 100000000, 10000000, 1000000, 100000, 10000, 1000, 100, 10, 1 };

/* The common case on a rod: digits and one point, nothing else. */
static bool
read_quick(const char *text, size_t n, bool metres, length *value)
{
    const char *p = text, *end = text + n;
    bool minus = n > 0 && *p == '-';
    p += minus;
    int64_t digits = 0;
    int places = -1;
    if (end - p < 1 || end - p > 7 || *p == '.' || end[-1] == '.')
        return false;
    for (; p < end; p++) {
        if (*p == '.' && places < 0) {
            places = 0;
            continue;
        }
        if (*p < '0' || *p > '9')
            return false;
        digits = digits * 10 + (*p - '0');
        places += places >= 0;
    }
    if (places > (metres ? 9 : 5))
        return false;
    digits *= (metres ? m_steps : ft_steps)[places > 0 ? places : 0]; /* seven digits: below LENGTH_MOST */
    *value = minus ? -digits : digits;
    return true;
}

enum length_status
length_read(const char *text, size_t n, enum length_unit bare, length *value)
{
    if (n == 0)
        return LENGTH_EEMPTY;
    if (bare != LENGTH_BARE_FT_IN && read_quick(text, n, bare == LENGTH_BARE_M, value))
        return LENGTH_OK;
    if (memchr(text, ',', n))
        return LENGTH_ECOMMA;
    for (size_t i = 0; i < n; i++)
        if ((text[i] & 0x80) != 0)
            return LENGTH_ESIGN;
    struct reader r = { text, text + n };
    bool minus = take(&r, '-');
    if (!minus)
        (void)take(&r, '+');
    length v;
    enum length_status s = read_plain(&r, bare, &v);
    if (s != LENGTH_OK)
        return s;
    *value = minus ? -v : v;
    return LENGTH_OK;
}

enum length_status
length_read_real(const char *text, size_t n, enum length_unit bare, double *nm)
{
    length whole;
    enum length_status s = length_read(text, n, bare, &whole);
    if (s == LENGTH_OK)
        *nm = (double)whole;
    if (s != LENGTH_EFINE)
        return s;
    char number[64];
    size_t digits = 0, points = 0;
    while (digits < n && digits < sizeof number - 1 && strchr("0123456789.", text[digits]))
        points += text[digits++] == '.';
    if (digits == 0 || points > 1 || text[0] == '.' || text[digits - 1] == '.')
        return LENGTH_EFORM; /* a sign is not wanted: what is finer than a nanometre is above nought here */
    memcpy(number, text, digits);
    number[digits] = '\0';
    struct reader r = { text + digits, text + n };
    skip_blanks(&r);
    const struct unit *u = r.at < r.end ? read_unit(&r) : NULL;
    if (r.at != r.end)
        return LENGTH_EFORM;
    *nm = strtod(number, NULL) * (double)(u ? u->nm : bare_nm(bare));
    return LENGTH_OK;
}

const char *
length_advice(enum length_status status, enum length_unit bare)
{
    switch (status) {
    case LENGTH_OK:
        return "is a length";
    case LENGTH_EEMPTY:
        return "has no value; write the reading, or leave the key out";
    case LENGTH_ECOMMA:
        return "has a comma; write a point before the decimals, as in 1.408, and no thousands mark";
    case LENGTH_EBARE:
        return "has no unit, and this job is in feet and inches; write 4' 7-3/8\" or 4.62 ft";
    case LENGTH_EFRACTION:
        return "has a fraction without inches; write 7-3/8 in, or 4' 7-3/8\"";
    case LENGTH_EEXPONENT:
        return "has an exponent; write the number out: 1000";
    case LENGTH_EUNIT:
        return "has no unit that is known; write mm, cm, m, km, in, ft or mi";
    case LENGTH_EINCHES:
        return "has 12 in or more behind the feet, or a fraction that is no part of 1; write 5' 1\", not 4' 13\"";
    case LENGTH_ESIGN:
        return "has a sign that is not on a plain keyboard; write ' for feet, \" for inches, - for minus, 7-1/2 for a half";
    case LENGTH_EFINE:
        return "is not a whole number of nanometres; write fewer decimals, or halves to sixty-fourths of an inch";
    case LENGTH_ERANGE:
        return "is beyond 10000 km; look for a figure too many";
    case LENGTH_EFORM:
        break;
    }
    switch (bare) {
    case LENGTH_BARE_FT:
        return "is not a length; write 4.62, 4.62 ft or 4' 7-3/8\"";
    case LENGTH_BARE_FT_IN:
        return "is not a length; write 4' 7-3/8\" or 4.62 ft";
    case LENGTH_BARE_M:
        break;
    }
    return "is not a length; write 1.408, 1.408 m or 1408 mm";
}

/* Digits of v; with leading noughts, at least so many. */
static size_t
put_digits(char *out, uint64_t v, int at_least)
{
    char back[24];
    int n = 0;
    while (v > 0 || n < at_least || n == 0) {
        back[sizeof back - 1 - (size_t)n++] = (char)('0' + v % 10);
        v /= 10;
    }
    memcpy(out, back + sizeof back - (size_t)n, (size_t)n);
    return (size_t)n;
}

/* A magnitude as whole units and parts of one, rounded half away from zero. */
struct parted {
    uint64_t whole;
    uint64_t part;
};

static struct parted
part(uint64_t magnitude, uint64_t unit, uint64_t parts)
{
    struct parted p = { magnitude / unit, 0 };
    p.part = (magnitude % unit * parts + unit / 2) / unit; /* below 1e9 * 1e9 */
    if (p.part == parts)
        p = (struct parted){ p.whole + 1, 0 };
    return p;
}

static size_t
print_decimal(char *out, struct parted v, int places)
{
    size_t n = put_digits(out, v.whole, 1);
    if (places > 0) {
        out[n++] = '.';
        n += put_digits(out + n, v.part, places);
    }
    return n;
}

/* 7-3/8, 7, 3/8; and 0-3/8 behind feet, so that no figure is read as inches. */
static size_t
print_inches(char *out, struct parted v, uint64_t parts, bool behind_feet)
{
    uint64_t num = v.part, den = parts;
    size_t n = 0;
    if (v.whole > 0 || num == 0 || behind_feet)
        n = put_digits(out, v.whole, 1);
    if (num == 0)
        return n;
    if (n > 0)
        out[n++] = '-';
    for (; num % 2 == 0 && den % 2 == 0; den /= 2)
        num /= 2;
    n += put_digits(out + n, num, 1);
    out[n++] = '/';
    return n + put_digits(out + n, den, 1);
}

static size_t
print_feet_inches(char *out, struct parted v, uint64_t parts)
{
    size_t n = 0;
    uint64_t feet = v.whole / 12;
    if (feet > 0) {
        n = put_digits(out, feet, 1);
        out[n++] = '\'';
        out[n++] = ' ';
    }
    v.whole %= 12;
    n += print_inches(out + n, v, parts, feet > 0);
    out[n++] = '"';
    return n;
}

static length
form_nm(enum length_form form)
{
    switch (form) {
    case LENGTH_AS_FT:
        return LENGTH_FT;
    case LENGTH_AS_MM:
        return LENGTH_MM;
    case LENGTH_AS_FT_IN:
    case LENGTH_AS_IN:
        return LENGTH_IN;
    case LENGTH_AS_M:
        break;
    }
    return LENGTH_M;
}

size_t
length_print(char out[LENGTH_TEXT], length value, struct length_style style)
{
    bool inches = style.form == LENGTH_AS_FT_IN || style.form == LENGTH_AS_IN;
    uint64_t magnitude = value < 0 ? 0 - (uint64_t)value : (uint64_t)value;
    uint64_t parts = inches ? (uint64_t)style.parts : (uint64_t)ten_to[style.places];
    struct parted v = part(magnitude, (uint64_t)form_nm(style.form), parts);
    size_t n = 0;
    if (value < 0 && (v.whole > 0 || v.part > 0))
        out[n++] = '-';
    if (style.form == LENGTH_AS_FT_IN)
        n += print_feet_inches(out + n, v, parts);
    else if (style.form == LENGTH_AS_IN)
        n += print_inches(out + n, v, parts, false);
    else
        n += print_decimal(out + n, v, style.places);
    out[n] = '\0';
    return n;
}

length
length_divide(length a, length b, length c)
{
    length small, half = c / 2; /* an even c has an exact half; an odd c never meets one */
    if (!__builtin_mul_overflow(a, b, &small) && small <= INT64_MAX - half && small >= INT64_MIN + half)
        return (small >= 0 ? small + half : small - half) / c;
    length_wide product = (length_wide)a * b;
    return (length)((product >= 0 ? product + half : product - half) / c);
}

bool
length_add(length a, length b, length *sum)
{
    length s;
    if (__builtin_add_overflow(a, b, &s))
        return false;
    *sum = s;
    return true;
}

length
length_whole(enum length_unit unit)
{
    return bare_nm(unit);
}

const char *
length_unit_word(enum length_unit unit)
{
    static const char *const words[] = { "ft", "ft-in", "m" };
    return words[unit];
}
