/* near.h - cmocka, and comparisons of our own: cmocka's pass anything within 1e-7 of the value */
#ifndef TESTS_NEAR_H
#define TESTS_NEAR_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#define assert_near(got, want, tol)                                                                                \
    do {                                                                                                           \
        double g_ = (got), w_ = (want), t_ = (tol);                                                                \
        if (!(fabs(g_ - w_) <= t_)) /* so that NaN fails */                                                        \
            fail_msg("%s: got %.17g, want %.17g within %g", #got, g_, w_, t_);                                     \
    } while (0)

/* 64-bit integers, exactly, printed signed. */
#define assert_same(got, want)                                                                                     \
    do {                                                                                                           \
        long long g_ = (long long)(got), w_ = (long long)(want);                                                   \
        if (g_ != w_)                                                                                              \
            fail_msg("%s: got %lld, want %lld", #got, g_, w_);                                                     \
    } while (0)

#endif
