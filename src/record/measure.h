/*
 * measure.h - volumes, masses, densities, percentages and bearings as a crew writes them
 *
 * Private to the record.
 */
#ifndef RECORD_MEASURE_H
#define RECORD_MEASURE_H

#include "fields.h"

/* Values. `at` points at the member named in the comment. All are ordinary decimal numbers, or a whole number and a
 * fraction: 0.60 ft3, 1/4 yd3, 1-1/2 yd3. */
void take_volume(struct reader *in, void *at, const struct field *field);  /* double: m^3 above zero; ft3 yd3 in3 m3 L */
void take_mass(struct reader *in, void *at, const struct field *field);    /* double: kg above zero; lb kg */
void take_percent(struct reader *in, void *at, const struct field *field); /* double: a share, 0 to 1; 10 % */
void take_bearing(struct reader *in, void *at, const struct field *field); /* double: degrees, 0 up to 360; 24 deg */

/* The density at hand, kg/m^3, 0 or more; t/m3 kg/m3 lb/ft3 lb/yd3, and short ton/yd3. False: said. */
bool density_of_scalar(struct reader *in, const struct field *field, double *value);

#endif
