/*
 * tape.h - what a tape shows, and how long that is: length, temperature, pull, sag, slope
 */
#ifndef RODBOOK_TAPE_H
#define RODBOOK_TAPE_H

#include "rodbook/length.h"

/* Corrections that the constants of a tape allow; bits of site_tape.has and of site_taped.has. */
enum {
    SITE_TAPE_LENGTH = 1,  /* nominal, actual */
    SITE_TAPE_TEMP = 2,    /* temp, expansion; the row's temp */
    SITE_TAPE_PULL = 4,    /* pull, area, modulus; the row's pull */
    SITE_TAPE_SAG = 8,     /* weight; the row's pull and spans */
    SITE_TAPE_RISE = 16,   /* the row's rise */
    SITE_TAPE_SLOPE = 32   /* the row's slope */
};

struct site_tape {
    unsigned has;          /* SITE_TAPE_LENGTH to SITE_TAPE_SAG */
    length nominal;        /* as marked; above 0 with SITE_TAPE_LENGTH */
    length actual;         /* at the standard temperature and pull */
    double temp;           /* C, standard */
    double expansion;      /* per K */
    double pull;           /* N, standard */
    double area;           /* m^2, of the section */
    double modulus;        /* Pa */
    double weight;         /* N per m of tape */
};

/* How one length was taped. */
struct site_taped {
    unsigned has;          /* SITE_TAPE_TEMP to SITE_TAPE_SLOPE: what is known, and so corrected */
    length read;           /* as it stood on the tape, above 0 */
    double temp;           /* C, of the tape */
    double pull;           /* N, above 0 */
    const length *span;    /* [spans] lengths that hung unsupported, each by itself */
    size_t spans;
    length rise;           /* between the ends, either sign */
    double slope;          /* radians from level, either sign */
};

/* Each apart, m, to be added to what was read. */
struct site_tape_corrections {
    double length, temp, pull, sag, slope;
    double sum;
    double corrected;      /* m: read + sum, level distance between the ends */
};

enum site_tape_status {
    SITE_TAPE_OK,
    SITE_TAPE_ESTEEP,      /* the rise is as long as the length, or longer */
    SITE_TAPE_ESAG         /* the sag is a tenth of a span or more: the pull is too small for the formula */
};

/*
 * site_tape_correct - how long a taped length is
 *
 * Given
 *   t          the tape
 *   row        how it was used
 * Returned
 *   *c         untouched unless the result is SITE_TAPE_OK; corrections that are not known are 0
 * Result
 *   SITE_TAPE_OK, SITE_TAPE_ESTEEP, SITE_TAPE_ESAG
 *
 * Method    L as read:
 *             length       L (actual - nominal) / nominal
 *             temperature  L expansion (T - Ts)
 *             pull         L (P - Ps) / (A E)
 *             sag          - sum over unsupported spans l of  w^2 l^3 / (24 P^2), w the weight of a unit of length
 *             slope        with S = L + the four above:  root(S^2 - rise^2) - S,  or  S cos(slope) - S; exact, not by the
 *                          usual series
 * Accuracy  1e-15 of L. The sag formula is the first term of the catenary's; the next is (w l / P)^2 / 27 of it or so, and is
 *           left out: a tenth of a per mille of the sag where that is a hundredth of a per cent of the span.
 * Source    printed alike in texts on taping; held to a lecture "Taping corrections" (slideplayer.com 13085605) and
 *           J. Mahun, open text "Taping", chapter E, section 4 (jerrymahun.com)
 */
enum site_tape_status site_tape_correct(const struct site_tape *t, const struct site_taped *row, struct site_tape_corrections *c);

/*
 * site_tape_lay_out - what the tape is to show so that a level distance is laid out
 *
 * Given
 *   t, row     as above; row->read is not looked at, and spans stay as they are
 *   wanted     level distance, above 0
 * Returned
 *   *read      m; untouched unless the result is SITE_TAPE_OK
 * Result
 *   as above
 *
 * Method    wanted - corrections, the corrections being those of the reading itself (repeated until it stands), so that
 *           measuring what was laid out gives back what was wanted. The usual rule, corrections of `wanted` with the
 *           other sign, differs by the corrections' own correction: below 0.001 of them on level ground.
 */
enum site_tape_status site_tape_lay_out(const struct site_tape *t, const struct site_taped *row, length wanted, double *read);

/*
 * site_tape_normal_pull - the pull at which stretch makes good what a hanging span sags
 *
 * Given
 *   t          with SITE_TAPE_PULL and SITE_TAPE_SAG
 *   span       unsupported, above 0
 * Result
 *   N, above the standard pull
 *
 * Method    (P - Ps) l / (A E) = w^2 l^3 / (24 P^2): the root above Ps of P^2 (P - Ps) = w^2 l^2 A E / 24, bracketed
 *           and bisected to the last bit
 * Source    as site_tape_correct(); the lecture's own 31 lb for 2.8 lb, 0.015 in2, 12 lb does not satisfy it, 56.5 lb does
 */
double site_tape_normal_pull(const struct site_tape *t, length span);

#endif
