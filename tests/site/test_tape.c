/* test_tape.c - corrections of taped lengths */
#include "near.h"

#include "rodbook/quantity.h"
#include "rodbook/tape.h"

#define FT 0.3048
#define POUND (QUANTITY_POUND * QUANTITY_GRAVITY)
#define PSI (POUND / (QUANTITY_INCH * QUANTITY_INCH))
#define FEET(v) ((length)((v) * (double)LENGTH_FT + 0.5))

static struct site_tape_corrections
correct(const struct site_tape *t, const struct site_taped *row)
{
    struct site_tape_corrections c = { .sum = 99 };
    assert_int_equal(site_tape_correct(t, row, &c), SITE_TAPE_OK);
    return c;
}

/* "Taping corrections", lecture, slideplayer.com 13085605, printed to 0.01 ft; the pull to 0.0001 ft. */
static void
repeats_the_lecture(void **state)
{
    const length hung[] = { FEET(100), FEET(100), FEET(100), FEET(48.75) }, halves[] = { FEET(50), FEET(50), FEET(50), FEET(50), FEET(50), FEET(50), FEET(48.75) };
    struct site_tape t = { .has = SITE_TAPE_TEMP, .temp = 20, .expansion = 0.0000065 * 1.8 };
    struct site_taped row = { .has = SITE_TAPE_TEMP, .read = FEET(368.50), .temp = (22 - 32) / 1.8 };
    (void)state;
    struct site_tape_corrections c = correct(&t, &row);
    assert_near(c.temp / FT, -0.11, 0.005);
    assert_near(c.corrected / FT, 368.39, 0.005);
    t = (struct site_tape){ .has = SITE_TAPE_SAG, .weight = 2.8 * POUND / (100 * FT) };
    row = (struct site_taped){ .has = SITE_TAPE_SAG, .read = FEET(348.75), .pull = 12 * POUND, .span = hung, .spans = 4 };
    assert_near(correct(&t, &row).sag / FT, -0.71, 0.005);
    row.pull = 18 * POUND;
    assert_near(correct(&t, &row).sag / FT, -0.31, 0.005);
    row.pull = 12 * POUND;
    row.span = halves;
    row.spans = 7;
    assert_near(correct(&t, &row).sag / FT, -0.20, 0.005);
    t = (struct site_tape){ .has = SITE_TAPE_PULL, .pull = 12 * POUND, .area = 0.015 * QUANTITY_INCH * QUANTITY_INCH, .modulus = 29e6 * PSI };
    row = (struct site_taped){ .has = SITE_TAPE_PULL, .read = FEET(100), .pull = 18 * POUND };
    assert_near(correct(&t, &row).pull / FT, 0.0014, 0.00005);
    t = (struct site_tape){ .has = SITE_TAPE_LENGTH, .nominal = FEET(100), .actual = FEET(100.02) };
    row = (struct site_taped){ .read = FEET(500) };
    assert_near(correct(&t, &row).corrected / FT, 500.10, 0.005);
    t = (struct site_tape){ .has = 0 };
    row = (struct site_taped){ .has = SITE_TAPE_SLOPE, .read = FEET(300), .slope = 0.0872664625997165 };
    c = correct(&t, &row);
    assert_near(c.corrected / FT, 298.86, 0.005);
    assert_near(c.slope / FT, -1.14, 0.005);
    assert_near(c.slope / FT, -1.1416, 0.00005); /* exact, not printed */
    row = (struct site_taped){ .has = SITE_TAPE_RISE, .read = FEET(300), .rise = -FEET(26.147) };
    assert_near(correct(&t, &row).corrected / FT, 298.858, 0.001);
}

/* assignmentexpert.com 232885 prints 0.014 m; NPTEL 105107122, module 3, example 9-6, prints 119.946 m for 120 m at 3 %. */
static void
repeats_metric_examples(void **state)
{
    struct site_tape t = { .has = SITE_TAPE_PULL, .pull = 5.5 * QUANTITY_GRAVITY, .area = 0.04e-4, .modulus = 2.1e6 * QUANTITY_GRAVITY / 1e-4 };
    struct site_taped row = { .has = SITE_TAPE_PULL, .read = 458650 * LENGTH_MM, .pull = 8 * QUANTITY_GRAVITY };
    (void)state;
    assert_near(correct(&t, &row).pull, 0.014, 0.0005);
    t = (struct site_tape){ .has = 0 };
    row = (struct site_taped){ .has = SITE_TAPE_SLOPE, .read = 120 * LENGTH_M, .slope = atan(0.03) };
    assert_near(correct(&t, &row).corrected, 119.946, 0.0005);
}

/* Each correction goes from what is read to what is: a cold tape is short, and so what it measures is shorter than it says. Laying out
 * and measuring undo each other. */
static void
laying_out_is_measuring_backwards(void **state)
{
    const length span[] = { FEET(20), FEET(24) };
    struct site_tape t = { .has = SITE_TAPE_LENGTH | SITE_TAPE_TEMP | SITE_TAPE_PULL | SITE_TAPE_SAG, .nominal = FEET(100),
        .actual = FEET(100.031), .temp = 20, .expansion = 1.16e-5, .pull = 44, .area = 2.6e-6, .modulus = 2e11, .weight = 0.12 };
    static const struct site_taped how[] = {
        { .has = 0 },
        { .has = SITE_TAPE_TEMP, .temp = -7 },
        { .has = SITE_TAPE_PULL, .pull = 71 },
        { .has = SITE_TAPE_PULL | SITE_TAPE_SAG, .pull = 71 },
        { .has = SITE_TAPE_RISE, .rise = 9 * LENGTH_M },
        { .has = SITE_TAPE_SLOPE, .slope = 0.78 },
        { .has = SITE_TAPE_TEMP | SITE_TAPE_PULL | SITE_TAPE_SAG | SITE_TAPE_RISE, .temp = 31, .pull = 38, .rise = -4321 * LENGTH_MM },
    };
    (void)state;
    for (size_t i = 0; i < sizeof how / sizeof *how; i++) {
        struct site_taped row = how[i];
        double read = -1;
        row.span = span;
        row.spans = 2;
        assert_int_equal(site_tape_lay_out(&t, &row, 14617 * LENGTH_MM, &read), SITE_TAPE_OK);
        row.read = (length)(read * 1e9 + 0.5);
        assert_near(correct(&t, &row).corrected, 14.617, 2e-9);
    }
    struct site_taped cold = { .has = SITE_TAPE_TEMP, .temp = -7, .read = 14617 * LENGTH_MM };
    t.has = SITE_TAPE_TEMP;
    double read = 0, measured = correct(&t, &cold).temp;
    assert_int_equal(site_tape_lay_out(&t, &cold, 14617 * LENGTH_MM, &read), SITE_TAPE_OK);
    assert_true(measured < 0);
    assert_near(read - 14.617, -measured, 1e-5); /* measuring adds it, laying out takes it off */
}

/* The same lecture prints 31 lb as the normal tension of this tape. That does not satisfy its own formula; 56.5 lb does. */
static void
normal_tension_is_not_as_printed(void **state)
{
    struct site_tape t = { .has = SITE_TAPE_PULL | SITE_TAPE_SAG, .pull = 12 * POUND, .area = 0.015 * QUANTITY_INCH * QUANTITY_INCH,
        .modulus = 29e6 * PSI, .weight = 2.8 * POUND / (100 * FT) };
    const length span = FEET(100);
    double pull = site_tape_normal_pull(&t, span);
    struct site_taped row = { .has = SITE_TAPE_PULL | SITE_TAPE_SAG, .read = span, .pull = pull, .span = &span, .spans = 1 };
    struct site_tape_corrections c = correct(&t, &row);
    (void)state;
    assert_near(pull / POUND, 56.5, 0.05);
    assert_near(c.pull + c.sag, 0, 1e-15);
    row.pull = 31 * POUND;
    c = correct(&t, &row);
    assert_true(c.pull + c.sag < -0.02 * FT);
    t.area /= 10; /* with 0.0015 in2 it would be 28.95 lb, near what is printed */
    assert_near(site_tape_normal_pull(&t, span) / POUND, 28.95, 0.005);
}

static void
leaves_outputs_alone(void **state)
{
    const length span = FEET(90);
    struct site_tape t = { .has = SITE_TAPE_SAG, .weight = 2 };
    struct site_tape_corrections c = { .sum = 7 };
    double read = 7;
    (void)state;
    struct site_taped row = { .has = SITE_TAPE_RISE, .read = 3 * LENGTH_M, .rise = 3 * LENGTH_M };
    assert_int_equal(site_tape_correct(&t, &row, &c), SITE_TAPE_ESTEEP);
    row = (struct site_taped){ .has = SITE_TAPE_SAG, .read = span, .pull = 10, .span = &span, .spans = 1 };
    assert_int_equal(site_tape_correct(&t, &row, &c), SITE_TAPE_ESAG);
    assert_int_equal(site_tape_lay_out(&t, &row, FEET(95), &read), SITE_TAPE_ESAG);
    assert_near(c.sum, 7, 0);
    assert_near(read, 7, 0);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(repeats_the_lecture),
        cmocka_unit_test(repeats_metric_examples),
        cmocka_unit_test(laying_out_is_measuring_backwards),
        cmocka_unit_test(normal_tension_is_not_as_printed),
        cmocka_unit_test(leaves_outputs_alone),
    };
    return cmocka_run_group_tests_name("tape", tests, NULL, NULL);
}
