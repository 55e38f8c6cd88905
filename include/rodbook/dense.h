/*
 * dense.h - least squares with a few unknowns, by the singular values
 */
#ifndef RODBOOK_DENSE_H
#define RODBOOK_DENSE_H

#include <stddef.h>

/*
 * dense_fit - the c with the least sum of w (y - X c)^2
 *
 * Given
 *   x[n][p]    row by row, finite
 *   y[n]       finite
 *   w[n]       weights above 0; NULL: all 1
 *   n, p       1 or more each; n below p is allowed
 * Returned
 *   c[p]       the solution; where columns depend on each other, the one with the least sum of squares
 *              of the columns' own lengths times c
 *   cov[p][p]  inverse of X'WX, the pseudo-inverse where columns depend on each other; not scaled by the
 *              fit. NULL where it is not wanted
 *   *sum       sum of w (y - X c)^2
 *   *rank      columns that do not depend on each other
 *   All untouched unless the result is 0.
 * Result
 *   0, -1 without memory or where n or p is 0
 *
 * Method    gsl_multifit_wlinear_tsvd with a relative tolerance of 1e-12: columns are scaled to length 1
 *           first, so that units do not matter. GSL's own cov with unit weights is scaled by the fit's
 *           variance; unit weights are passed as weights, so that it never is.
 * Source    GSL reference manual, "Multi-parameter regression".
 */
int dense_fit(const double *x, const double *y, const double *w, size_t n, size_t p, double *c, double *cov, double *sum,
    size_t *rank);

#endif
