/*
 * length.h - lengths as whole nanometres
 *
 * Every length that was read or given is a whole number of nanometres in 64
 * bits, so that sums of readings are exact and a page check is an equality.
 * 0.001 ft is 304 800 nm and 1/64 in is 396 875 nm, both whole.
 */
#ifndef RODBOOK_LENGTH_H
#define RODBOOK_LENGTH_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef int64_t length;                     /* nanometres */
__extension__ typedef __int128 length_wide; /* products of two lengths, nm^2 */

/* Metric: SI brochure, 9th edition, table 7. Foot, inch and mile: international
 * values of 1959 (1 in = 25.4 mm exactly), NIST Handbook 44, appendix C. */
#define LENGTH_MM   INT64_C(1000000)       /* nm in a millimetre */
#define LENGTH_CM   INT64_C(10000000)      /* nm in a centimetre */
#define LENGTH_M    INT64_C(1000000000)    /* nm in a metre */
#define LENGTH_KM   INT64_C(1000000000000) /* nm in a kilometre */
#define LENGTH_IN   INT64_C(25400000)      /* nm in an inch */
#define LENGTH_FT   INT64_C(304800000)     /* nm in a foot of 12 in */
#define LENGTH_MILE INT64_C(1609344000000) /* nm in a mile of 5280 ft */

/* The longest length that any record may give: 10 000 km. Larger is a slip
 * of the pen on any site, and below it a million lengths can be summed in
 * 64 bits before a sum has to be looked at. */
#define LENGTH_MOST (INT64_C(10000) * LENGTH_KM)

/* What a bare number means, and how results are shown. */
enum length_unit {
    LENGTH_BARE_FT,    /* decimal feet */
    LENGTH_BARE_FT_IN, /* feet, inches and fractions; a bare number is refused */
    LENGTH_BARE_M      /* metres */
};

enum length_status {
    LENGTH_OK,
    LENGTH_EEMPTY,    /* no value at all */
    LENGTH_ECOMMA,    /* a decimal comma or a thousands mark */
    LENGTH_EBARE,     /* a bare number where feet and inches are wanted */
    LENGTH_EFRACTION, /* a fraction with no inch sign behind it */
    LENGTH_EEXPONENT, /* 1e3 */
    LENGTH_EUNIT,     /* letters that are no unit */
    LENGTH_EINCHES,   /* 12 inches or more behind feet, or a fraction of 1 or more */
    LENGTH_ESIGN,     /* a typographer's sign: curly quotes, a one-half, a long minus */
    LENGTH_EFINE,     /* not a whole number of nanometres */
    LENGTH_ERANGE,    /* beyond LENGTH_MOST */
    LENGTH_EFORM      /* anything else */
};

/*
 * length_read - read one length as a crew writes it
 *
 * Given
 *   text[n]    UTF-8, not closed by a zero; outer blanks are not allowed
 *   bare       what a number without a unit means
 * Returned
 *   *value     nanometres; untouched unless the result is LENGTH_OK
 * Result
 *   LENGTH_OK, or what is wrong; length_advice() says what to write instead
 *
 * Method    [-|+] number [unit], units mm cm m km in ft mi and ' ", or
 *           feet and inches: 4' 7-3/8", 4 ft 7 3/8 in. The sign covers the
 *           whole. Digits are scaled in 128 bits; nothing is rounded.
 */
enum length_status length_read(const char *text, size_t n, enum length_unit bare,
    length *value);

/*
 * length_read_real - read a standard deviation or a coefficient
 *
 * As length_read(), but for ordinary decimal numbers that need not be whole
 * nanometres.
 * Returned
 *   *nm        nanometres, rounded to a double once the digits are scaled
 */
enum length_status length_read_real(const char *text, size_t n, enum length_unit bare,
    double *nm);

/* One sentence for a status: what was wrong, and what to write instead. */
const char *length_advice(enum length_status status, enum length_unit bare);

/* How a length is printed. Every form rounds half away from zero. */
enum length_form {
    LENGTH_AS_FT,     /* 4.62       decimal feet, `places` decimals */
    LENGTH_AS_M,      /* 1.408      metres, `places` decimals */
    LENGTH_AS_MM,     /* 12         whole millimetres when places is 0 */
    LENGTH_AS_FT_IN,  /* 4' 7-3/8"  `parts` is 8, 16, 32 or 64 of an inch */
    LENGTH_AS_IN      /* 7-3/8      inches and fraction, without a sign for inches */
};

struct length_style {
    enum length_form form;
    int places; /* decimals, 0 to 9; of the decimal forms */
    int parts;  /* parts of an inch, 1 to 64; of the inch forms */
};

#define LENGTH_TEXT 40 /* bytes that any printed length fits in, closing zero included */

/*
 * length_print - print a length in a style
 *
 * Returned
 *   out        the text, closed by a zero
 * Result
 *   number of bytes before the zero
 *
 * Method    |value| is divided by the last place shown, in 128 bits, and
 *           rounded half away from zero: the rule of the printed page, the
 *           same either side of zero. A value that rounds to nought has no sign.
 */
size_t length_print(char out[LENGTH_TEXT], length value, struct length_style style);

/*
 * length_divide - a * b / c, rounded once, half away from zero
 *
 * Given
 *   a, b       any lengths or counts; |a * b| below 2^126
 *   c          above zero
 */
length length_divide(length a, length b, length c);

/* Adds; false, and *sum untouched, where 64 bits do not hold it. */
bool length_add(length a, length b, length *sum);

/* Nanometres in one whole unit of the job: a foot or a metre. */
length length_whole(enum length_unit unit);

/* "ft", "ft-in" or "m": the word that a record uses. */
const char *length_unit_word(enum length_unit unit);

#endif
