/*
 * sure.h - how sure each move is, what can be said of it, and which further reading would say most
 */
#ifndef RODBOOK_SURE_H
#define RODBOOK_SURE_H

#include "rodbook/adjust.h"

/* What is looked at, so that a large job takes no hour: */
#define SURE_MARKS 32      /* marks that one more reading is tried on */
#define SURE_BENCHMARKS 4  /* benchmarks with a standard deviation that a new set-up may stand on */
#define SURE_SETUPS 4      /* set-ups that are tried again... */
#define SURE_SIGHTS 64     /* ...of up to so many sights */

/* A move as a sum of adjusted elevations: sum of share times node; what is held is left out. */
struct sure_form {
    uint32_t node[4]; /* the mark first, while it is a node; then the marks of its grade */
    double share[4];
    uint32_t nodes;
};

/* A move that is not decided. */
struct sure_doubt {
    struct sure_form form;
    uint32_t spot;    /* the mark */
    uint32_t grade;   /* into job.grade */
    double variance;  /* m^2, of the move */
    double settled;   /* m^2: decided with any variance below this */
};

/*
 * sure_stakes - standard deviation and verdict of every stake, and of every point
 *
 * Given
 *   job         worked out, with stakes
 *   net         adjust_sound() of it, where the job was adjusted so; NULL: it is adjusted here
 *   confidence  above 0, below 1
 * Returned
 *   job->spot_sigma, factor, no_sigma; each stake's sigma and verdict
 *   job->advice where some stake is in doubt
 *   d           a warning where there are no standard deviations: [no-sigma] or [range], as adjust_open() has them
 * Result
 *   0, or -1 without memory
 *
 * Method    The net of adjust.h, whatever the job spreads by. The move at a
 *           place is D = sum s_k z_k + exact - z, z the mark's adjusted
 *           elevation and z_k those of the marks that the grade goes through,
 *           s_k from site_grade_shares(); so
 *             Var D = sum s_k s_l Z_kl - 2 sum s_k Z_k + Z,
 *           with one solve of the net for each mark of a grade. A held mark,
 *           and a grade by its level, have no variance. The variances are by
 *           the weights given, not from the fit. Lines outside their limit do
 *           not count in them: nothing else is made surer by what is wrong.
 *           Verdicts are those of site_decides_below() with h = factor * sigma;
 *           but where the grade states no tolerance, a mark closer than half
 *           the least division is left whatever h is.
 * Accuracy  as net_solve() where the grade is exact; else the sum cancels where
 *           mark and grade hang on the same readings: absolute error some
 *           units in the last place of the largest Z in it.
 */
int sure_stakes(struct job *job, const struct adjust *net, double confidence, struct diag *d);

/* Of a confidence p above 0 and below 1: a normal variable is within so many standard deviations with chance p. */
double sure_factor(double p);

/* One more node of a sum, with its share; what is held or never read adds nothing. Room for four different ones. */
void sure_form_add(struct sure_form *form, uint32_t node, double share);

/*
 * sure_form_variance - variance of a sum of adjusted elevations, m^2
 *
 * Result
 *   0, or -1 without memory
 *
 * Method    sum of share_i share_j Z_ij, with one solve of the net for each node but the last. It cancels as
 *           adjust_difference() does.
 */
int sure_form_variance(const struct adjust *a, const struct sure_form *form, double *variance);

/* The move of a stake that was read; false where it has none. */
bool sure_form_of(const struct adjust *a, const struct job_stake *s, struct sure_form *form);

/* Variances of the moves of all stakes, m^2; below 0 where there is none. 0, or -1 without memory. */
int sure_variances(const struct adjust *a, double *variance);

/* Standard deviation of every point into job->spot_sigma; a point outside its limit has none. 0, or -1 without memory. */
int sure_spots(struct job *job, const struct adjust *a);

/*
 * sure_advise - the further reading that would settle most
 *
 * Given
 *   a          the net
 *   doubt[n]   moves that are not decided
 * Returned
 *   *advice    the candidate that settles most of the doubts if the marks read as they do; among those the one that
 *              leaves the least largest variance to the others; among those the first
 * Result
 *   0, or -1 without memory
 *
 * Tried are
 *   - one more reading on each mark in doubt, and on each mark that a doubtful
 *     grade goes through: half of SURE_MARKS of the largest variance of move,
 *     and half of those that come nearest to being settled;
 *     from a new set-up on a benchmark (one that is held, which all are alike;
 *     each of the first SURE_BENCHMARKS that have a standard deviation);
 *     and from the job's last set-up, where no foresight has ended it;
 *   - all points of a set-up read again from a new one: the SURE_SETUPS that
 *     see most doubts, of at most SURE_SIGHTS sights.
 *   A benchmark that was moved is none. Each reading has the job's sigma.
 *
 * Method    A further observation a'z with variance r takes c^2 / (a'Za + r)
 *           off the variance of a move, c being the covariance of both; one
 *           reading on x from a new set-up on b observes z_x - z_b with
 *           r = 2 sigma^2. A set-up read again is that for reading after
 *           reading, covariances brought up to date in between.
 * Source    rank-one change of an inverse, Sherman and Morrison (1950), from memory.
 */
int sure_advise(const struct adjust *a, const struct sure_doubt *doubt, size_t n, struct job_advice *advice);

#endif
