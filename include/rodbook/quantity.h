/*
 * quantity.h - what a tape is used with: temperatures, forces, masses, areas, stresses, slopes
 *
 * A quantity always carries its unit: nobody can say whether 50 is Fahrenheit
 * or Celsius. Lengths are for length.h.
 */
#ifndef RODBOOK_QUANTITY_H
#define RODBOOK_QUANTITY_H

#include <stddef.h>

/*
 * Exact by definition. Pound: 0.453 592 37 kg, foot 0.3048 m, inch 25.4 mm,
 * the international values of 1959 (NIST Special Publication 811, appendix B).
 * Standard gravity 9.806 65 m/s^2: 3rd General Conference on Weights and
 * Measures, 1901 (SI brochure, 9th edition). Temperature F to C: (F - 32) / 1.8.
 */
#define QUANTITY_POUND   0.45359237 /* kg */
#define QUANTITY_GRAVITY 9.80665    /* m/s^2 */
#define QUANTITY_FOOT    0.3048     /* m */
#define QUANTITY_INCH    0.0254     /* m */

enum quantity_kind {
    QUANTITY_TEMPERATURE, /* degrees Celsius; "50 F", "10 C" */
    QUANTITY_FORCE,       /* newtons; "15 lb", "65 N", "8 kg" are the pull of a spring balance that shows them */
    QUANTITY_MASS,        /* kilograms; "2.2 lb", "35 oz", "1 kg" */
    QUANTITY_AREA,        /* square metres; "0.004 in2", "2.6 mm2" */
    QUANTITY_STRESS,      /* pascals; "2.9e7 psi", "200 GPa", "2.1e6 kg/cm2" */
    QUANTITY_EXPANSION,   /* per kelvin; "0.00000645 /F", "1.16e-5 /C" */
    QUANTITY_SLOPE,       /* radians from level, either sign; "3 %", "5 deg", "1 in 20" */
    QUANTITY_KINDS
};

enum quantity_status {
    QUANTITY_OK,
    QUANTITY_EFORM,  /* no number stands at its head */
    QUANTITY_ECOMMA, /* a decimal comma */
    QUANTITY_EUNIT,  /* no unit, or none of these */
    QUANTITY_ERANGE  /* beyond what such a quantity can be, or of the wrong sign */
};

/*
 * quantity_read - read one quantity as a crew writes it
 *
 * Given
 *   text[n]    UTF-8; outer blanks are not allowed; a blank before the unit may be left out
 *   kind       what it is to be
 * Returned
 *   *value     in the unit said at the kind; untouched unless the result is QUANTITY_OK
 * Result
 *   QUANTITY_OK, or what is wrong; quantity_advice() says what to write instead
 *
 * Method    number [blank] unit. A number is [-|+] digits [. digits] [e [-|+] digits], up to 15 figures. Ranges: -60 to 80 C;
 *           all but temperatures and slopes above 0; pulls below 5 kN, masses below 100 kg, sections below 10 cm2,
 *           moduli 1 MPa to 10 TPa, expansions below 0.001 per kelvin, slopes not beyond 45 degrees.
 * Accuracy  a few roundings of a double
 * Source    NIST Special Publication 811, appendix B.8
 */
enum quantity_status quantity_read(const char *text, size_t n, enum quantity_kind kind, double *value);

/* What was wrong, and what to write instead. */
const char *quantity_advice(enum quantity_status status, enum quantity_kind kind);

#endif
