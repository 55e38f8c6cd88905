/*
 * chance.h - how likely a statistic is, and how large it may be
 *
 * The distributions that errors of measurement are judged by: normal,
 * chi-square, Student's t, and Pope's tau. Each is asked two ways: how likely
 * is a value below and above this one, and which value has this share of all
 * below or above it.
 *
 * A share near 1 cannot be written closely in a double: 1 - 1e-9 has seven
 * true digits of what is missing. So a share says on which side it stands,
 * and both shares of a value are returned, each with its own accuracy.
 *
 * Arguments are checked before they reach GSL, so that its error handler,
 * which ends the program unless it was turned off, is never called.
 *
 * Accuracies are relative, for shares of 1e-100 and more. Sums in 50 digits,
 * to 1,000,000 degrees of freedom, were nowhere farther off than a tenth of
 * what is said here. Shares below 1e-300 have fewer digits, or come out as 0.
 */
#ifndef RODBOOK_CHANCE_H
#define RODBOOK_CHANCE_H

#include <stddef.h>

#define CHANCE_LEAST   1e-100             /* the smallest share that a value is found for */
#define CHANCE_DF_MOST ((size_t)100000000) /* the most degrees of freedom */

/* Two shares that add up to 1. */
struct chance {
    double below; /* of all values, those that are smaller */
    double above; /* those that are larger */
};

enum chance_side {
    CHANCE_BELOW, /* the share is that of smaller values */
    CHANCE_ABOVE  /* the share is that of larger values */
};

enum chance_status {
    CHANCE_OK,
    CHANCE_EVALUE, /* the value is no finite number, or a chi-square below 0 */
    CHANCE_ESHARE, /* the share is no number, below CHANCE_LEAST, or not below 1 */
    CHANCE_EDF,    /* degrees of freedom 0, or more than CHANCE_DF_MOST */
    CHANCE_EPOWER  /* the power is no number, not above the level of the test, or not below 1 */
};

/*
 * chance_normal - shares below and above z, normal distribution
 *
 * Given
 *   z          an error over its standard deviation, no unit
 * Returned
 *   *shares    untouched unless the result is CHANCE_OK
 * Result
 *   CHANCE_OK, CHANCE_EVALUE
 *
 * Method    rational approximations, by GSL
 * Accuracy  1e-14
 * Source    W. J. Cody, Rational Chebyshev approximations for the error
 *           function, Math. Comp. 23 (1969), which GSL names as its own
 */
enum chance_status chance_normal(double z, struct chance *shares);

/*
 * chance_normal_at - the z that has a share of all values on one side
 *
 * Given
 *   share      CHANCE_LEAST to below 1
 *   side       the side that the share stands on
 * Returned
 *   *z         no unit; untouched unless the result is CHANCE_OK
 * Result
 *   CHANCE_OK, CHANCE_ESHARE
 *
 * Method    rational approximations, by GSL
 * Accuracy  1e-14
 * Source    M. J. Wichura, Algorithm AS 241, Applied Statistics 37 (1988),
 *           which GSL names as its own
 */
enum chance_status chance_normal_at(double share, enum chance_side side, double *z);

/*
 * chance_chisq - shares below and above x, chi-square distribution
 *
 * Given
 *   x          a sum of squares of errors over their standard deviations,
 *              0 or more, no unit
 *   df         degrees of freedom (redundancy), 1 to CHANCE_DF_MOST
 * Returned
 *   *shares    untouched unless the result is CHANCE_OK
 * Result
 *   CHANCE_OK, CHANCE_EVALUE, CHANCE_EDF
 *
 * Method    incomplete gamma function of a = df/2 at x/2: the power series
 *           for the lower share where x/2 < a + 1, Legendre's continued
 *           fraction for the upper one elsewhere; the other share is the
 *           rest. Their common factor is taken by its distance from its top
 *           at x = df, so that no large logarithms cancel. GSL's own
 *           function is not used: see docs/decisions.md.
 * Accuracy  1e-12; time goes up with the root of df
 * Source    NIST Digital Library of Mathematical Functions, 8.11.4 and
 *           8.9.2 (from memory); the factor, 8.11.5 with 5.11.3 (from memory)
 */
enum chance_status chance_chisq(double x, size_t df, struct chance *shares);

/*
 * chance_chisq_at - the chi-square that has a share of all values on one side
 *
 * Given
 *   share      CHANCE_LEAST to below 1
 *   side       the side that the share stands on
 *   df         degrees of freedom, 1 to CHANCE_DF_MOST
 * Returned
 *   *x         no unit; untouched unless the result is CHANCE_OK
 * Result
 *   CHANCE_OK, CHANCE_ESHARE, CHANCE_EDF
 *
 * Method    chance_chisq() on the side of the smaller share, bracketed from
 *           x = df by doubling or halving, then bisected to the last bit
 * Accuracy  1e-12
 */
enum chance_status chance_chisq_at(double share, enum chance_side side, size_t df, double *x);

/*
 * chance_student - shares below and above t, Student's distribution
 *
 * Given
 *   t          an error over a standard deviation that comes from the fit
 *   df         degrees of freedom of that standard deviation, 1 to
 *              CHANCE_DF_MOST
 * Returned
 *   *shares    untouched unless the result is CHANCE_OK
 * Result
 *   CHANCE_OK, CHANCE_EVALUE, CHANCE_EDF
 *
 * Method    incomplete beta function of df/2 and 1/2: where t^2 < 3 the
 *           share between 0 and t by a series of positive terms, elsewhere
 *           the share beyond t by the continued fraction. GSL's own function
 *           is not used: see docs/decisions.md.
 * Accuracy  1e-12
 * Source    NIST Digital Library of Mathematical Functions, 8.17.8 and
 *           8.17.22 (from memory)
 */
enum chance_status chance_student(double t, size_t df, struct chance *shares);

/*
 * chance_student_at - the t that has a share of all values on one side
 *
 * Given
 *   share      CHANCE_LEAST to below 1; alpha/2, CHANCE_ABOVE, for a test of
 *              either sign at level alpha
 *   side       the side that the share stands on
 *   df         degrees of freedom, 1 to CHANCE_DF_MOST
 * Returned
 *   *t         no unit; untouched unless the result is CHANCE_OK
 * Result
 *   CHANCE_OK, CHANCE_ESHARE, CHANCE_EDF
 *
 * Method    as chance_chisq_at(); for a share between 1/4 and 3/4 by the
 *           share between 0 and t, so that a t near 0 keeps its digits
 * Accuracy  1e-12
 */
enum chance_status chance_student_at(double share, enum chance_side side, size_t df, double *t);

/*
 * chance_tau_at - critical value of Pope's tau
 *
 * What a residual over its own standard deviation is held against where that
 * standard deviation comes from the same fit: then the two are not
 * independent, and the ratio cannot leave -sqrt(df) to sqrt(df).
 *
 * Given
 *   share      CHANCE_LEAST to below 1; alpha/2, CHANCE_ABOVE, for a test of
 *              either sign at level alpha
 *   side       the side that the share stands on
 *   df         degrees of freedom (redundancy) of the fit, 1 to
 *              CHANCE_DF_MOST
 * Returned
 *   *tau       no unit; untouched unless the result is CHANCE_OK
 * Result
 *   CHANCE_OK, CHANCE_ESHARE, CHANCE_EDF
 *
 * Method    tau = sqrt(df) t / sqrt(df - 1 + t^2), t being Student's with
 *           df - 1 degrees of freedom. With one degree of freedom every
 *           residual is 1 or -1 times its standard deviation: the result is
 *           1 or -1, by the side of 1/2 that the share is on, and 0 for 1/2;
 *           no residual can be found out.
 * Accuracy  1e-12
 * Source    A. J. Pope, The statistics of residuals and the detection of
 *           outliers, NOAA Technical Report NOS 65 NGS 1 (1976) (from memory)
 */
enum chance_status chance_tau_at(double share, enum chance_side side, size_t df, double *tau);

/*
 * chance_noncentral - how far off a reading must be for a test to find it
 *
 * Given
 *   alpha      level of the test of one reading, either sign: the share of
 *              good readings that it rejects; CHANCE_LEAST to below 1
 *   power      the share of readings off by *delta standard deviations (of
 *              the residual, seen from the reading) that it finds; above
 *              alpha, below 1. What Baarda writes as beta; 1 - beta where
 *              beta is the chance of missing it.
 * Returned
 *   *delta     Baarda's delta0, no unit, 4.132 for alpha 0.001 and power
 *              0.80; its square is lambda0. Untouched unless the result is
 *              CHANCE_OK
 * Result
 *   CHANCE_OK, CHANCE_ESHARE (alpha), CHANCE_EPOWER
 *
 * Method    With k the normal value that alpha/2 lie above, delta is where
 *           the share above k - delta and the share above k + delta add up
 *           to power: found by bisection. The second is the reading that is
 *           rejected with the wrong sign. The textbook's sum k + z, z the
 *           value that power lie below, leaves it out and is too large: by
 *           2e-13 for 0.001 and 0.80, by 1.1e-4 for 0.05 and 0.50.
 * Accuracy  1e-12 where power is twice alpha or more; the closer they are,
 *           the fewer digits delta has.
 * Source    W. Baarda, A testing procedure for use in geodetic networks,
 *           Netherlands Geodetic Commission, New Series 2, 5 (1968) (from
 *           memory)
 */
enum chance_status chance_noncentral(double alpha, double power, double *delta);

#endif
