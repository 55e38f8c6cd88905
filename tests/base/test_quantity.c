/* test_quantity.c - temperatures, forces, masses, areas, stresses, slopes */
#include "near.h"

#include "rodbook/quantity.h"

#include <string.h>

static enum quantity_status
take(const char *text, enum quantity_kind kind, double *value)
{
    return quantity_read(text, strlen(text), kind, value);
}

/* Factors: NIST Special Publication 811, appendix B.8: lbf 4.448 222 N, psi 6 894.757 Pa, in2 6.4516 E-04 m2, kgf 9.806 65 N,
 * oz 2.834 952 E-02 kg, kgf/cm2 9.806 65 E+04 Pa. Given there to seven figures, so to half of the last. */
static void
reads_each_unit(void **state)
{
    static const struct {
        const char *text;
        enum quantity_kind kind;
        double value, tol;
    } known[] = {
        { "50 F", QUANTITY_TEMPERATURE, 10, 1e-14 },
        { "68 F", QUANTITY_TEMPERATURE, 20, 1e-14 },
        { "-40F", QUANTITY_TEMPERATURE, -40, 1e-13 },
        { "17.5 C", QUANTITY_TEMPERATURE, 17.5, 0 },
        { "1 lb", QUANTITY_FORCE, 4.448222, 5e-7 },
        { "15 lbf", QUANTITY_FORCE, 66.72333, 7.5e-6 },
        { "65 N", QUANTITY_FORCE, 65, 0 },
        { "0.08 kN", QUANTITY_FORCE, 80, 1e-13 },
        { "1 kg", QUANTITY_FORCE, 9.80665, 1e-15 },
        { "8 kgf", QUANTITY_FORCE, 78.4532, 1e-13 },
        { "2.2 lb", QUANTITY_MASS, 0.997903214, 1e-12 },
        { "1 oz", QUANTITY_MASS, 2.834952e-2, 5e-9 },
        { "1.3 kg", QUANTITY_MASS, 1.3, 0 },
        { "870 g", QUANTITY_MASS, 0.87, 1e-15 },
        { "1 in2", QUANTITY_AREA, 6.4516e-4, 1e-18 },
        { "2.6 mm2", QUANTITY_AREA, 2.6e-6, 1e-20 },
        { "0.04 cm2", QUANTITY_AREA, 4e-6, 1e-20 },
        { "1000 psi", QUANTITY_STRESS, 6894757, 0.5 },
        { "2.9e7 psi", QUANTITY_STRESS, 2.9e7 * 6894.757, 2.9e7 * 0.0005 },
        { "29000 ksi", QUANTITY_STRESS, 2.9e7 * 6894.757, 2.9e7 * 0.0005 },
        { "200 GPa", QUANTITY_STRESS, 2e11, 0 },
        { "200000 N/mm2", QUANTITY_STRESS, 2e11, 0 },
        { "2.1e6 kg/cm2", QUANTITY_STRESS, 2.1e6 * 98066.5, 1 },
        { "0.0000065 /F", QUANTITY_EXPANSION, 0.0000117, 1e-19 },
        { "6.45e-6 per F", QUANTITY_EXPANSION, 1.161e-5, 1e-19 },
        { "1.16e-5 /C", QUANTITY_EXPANSION, 1.16e-5, 1e-19 },
        { "0.0000116 per K", QUANTITY_EXPANSION, 1.16e-5, 1e-19 },
        { "5 deg", QUANTITY_SLOPE, 0.0872664625997165, 1e-15 },
        { "3 %", QUANTITY_SLOPE, 0.0299910048568779, 1e-15 }, /* atan(0.03) */
        { "-3%", QUANTITY_SLOPE, -0.0299910048568779, 1e-15 },
        { "1 in 20", QUANTITY_SLOPE, 0.0499583957219428, 1e-15 }, /* atan(0.05) */
    };
    (void)state;
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        double v = 0.123;
        if (take(known[i].text, known[i].kind, &v) != QUANTITY_OK)
            fail_msg("%s is not read", known[i].text);
        assert_near(v, known[i].value, known[i].tol);
    }
}

static void
refuses_what_is_none(void **state)
{
    static const struct {
        const char *text;
        enum quantity_kind kind;
        enum quantity_status status;
    } bad[] = {
        { "50", QUANTITY_TEMPERATURE, QUANTITY_EUNIT },
        { "50 f", QUANTITY_TEMPERATURE, QUANTITY_EUNIT },
        { "50  F", QUANTITY_TEMPERATURE, QUANTITY_EUNIT },
        { "50 FF", QUANTITY_TEMPERATURE, QUANTITY_EUNIT },
        { "10,5 C", QUANTITY_TEMPERATURE, QUANTITY_ECOMMA },
        { "F", QUANTITY_TEMPERATURE, QUANTITY_EFORM },
        { "", QUANTITY_TEMPERATURE, QUANTITY_EFORM },
        { "-", QUANTITY_TEMPERATURE, QUANTITY_EFORM },
        { ".5 C", QUANTITY_TEMPERATURE, QUANTITY_EFORM },
        { "5. C", QUANTITY_TEMPERATURE, QUANTITY_EFORM },
        { "1.2.3 C", QUANTITY_TEMPERATURE, QUANTITY_EUNIT },
        { "nan C", QUANTITY_TEMPERATURE, QUANTITY_EFORM },
        { "inf C", QUANTITY_TEMPERATURE, QUANTITY_EFORM },
        { "0x10 C", QUANTITY_TEMPERATURE, QUANTITY_EUNIT },
        { "500 F", QUANTITY_TEMPERATURE, QUANTITY_ERANGE },
        { "12345678901234567 C", QUANTITY_TEMPERATURE, QUANTITY_EFORM },
        { "0 lb", QUANTITY_FORCE, QUANTITY_ERANGE },
        { "-5 lb", QUANTITY_FORCE, QUANTITY_ERANGE },
        { "15 in", QUANTITY_FORCE, QUANTITY_EUNIT },
        { "1e99 psi", QUANTITY_STRESS, QUANTITY_EFORM },
        { "1e psi", QUANTITY_STRESS, QUANTITY_EUNIT },
        { "2.9e+ psi", QUANTITY_STRESS, QUANTITY_EFORM },
        { "0.004 in", QUANTITY_AREA, QUANTITY_EUNIT },
        { "3 ft2", QUANTITY_AREA, QUANTITY_EUNIT },
        { "0.0000065", QUANTITY_EXPANSION, QUANTITY_EUNIT },
        { "101 %", QUANTITY_SLOPE, QUANTITY_ERANGE },
        { "46 deg", QUANTITY_SLOPE, QUANTITY_ERANGE },
        { "1 in 0", QUANTITY_SLOPE, QUANTITY_EUNIT },
        { "1 in", QUANTITY_SLOPE, QUANTITY_EUNIT },
        { "1 in 20 ft", QUANTITY_SLOPE, QUANTITY_EUNIT },
    };
    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        double v = 0.123;
        if (take(bad[i].text, bad[i].kind, &v) != bad[i].status)
            fail_msg("\"%s\": status %d", bad[i].text, (int)take(bad[i].text, bad[i].kind, &v));
        assert_near(v, 0.123, 0);
        assert_true(strlen(quantity_advice(bad[i].status, bad[i].kind)) > 10);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_each_unit),
        cmocka_unit_test(refuses_what_is_none),
    };
    return cmocka_run_group_tests_name("quantity", tests, NULL, NULL);
}
