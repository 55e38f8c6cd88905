/* test_suspects.c - simulated loops: how often the true reading is named. The large trial is `make suspects-trial`. */
#include "../near.h"

#include "suspect_trial.h"

#define LOOPS 600

/* Floors below what 20 000 loops give (docs/method.md), by more than three standard deviations of so few. */
static void
the_true_reading_is_named_first(void **state)
{
    static struct trial t;
    struct trial_tally y = { 0 };
    (void)state;
    for (uint64_t i = 1; i <= LOOPS; i++) {
        assert_int_equal(trial_run(&t, i, TRIAL_ANY), 0);
        trial_count(&y, &t);
    }
    assert_true(y.outside * 2 > LOOPS);
    assert_true(y.identifiable * 10 > y.outside * 4); /* else the rates are of few, and easy ones */
    assert_true(y.first * 100 >= y.identifiable * 90);
    assert_true(y.third * 100 >= y.identifiable * 94);
    assert_true(y.any_first * 100 >= y.outside * 52);
}

static void
each_slip_is_found(void **state)
{
    static struct trial t;
    (void)state;
    for (unsigned slip = 0; slip < SUSPECT_SLIPS; slip++) {
        struct trial_tally y = { 0 };
        for (uint64_t i = 1; i <= 1000 && y.outside < 25; i++) {
            int rc = trial_run(&t, i + 50000, slip);
            assert_true(rc >= 0);
            if (rc == 0)
                trial_count(&y, &t);
        }
        if (y.outside < 25 || y.any_third * 3 < y.outside) /* a rod or an instrument leaves faint traces */
            fail_msg("%s: %zu outside, %zu in the first three", suspect_table[slip].word, y.outside, y.any_third);
    }
}

/* Ordinary readings are outside by chance alone in a few loops of a hundred. */
static void
clean_loops_name_nobody(void **state)
{
    static struct trial t;
    size_t outside = 0;
    (void)state;
    for (uint64_t i = 1; i <= LOOPS / 2; i++) {
        assert_int_equal(trial_run(&t, i + 90000, TRIAL_NO_SLIP), 0);
        outside += t.outside;
    }
    assert_true(outside * 100 <= LOOPS / 2 * 5);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_true_reading_is_named_first),
        cmocka_unit_test(each_slip_is_found),
        cmocka_unit_test(clean_loops_name_nobody),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
