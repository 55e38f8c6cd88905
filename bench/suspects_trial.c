/* suspects_trial.c - how often the true reading is named first. usage: suspects_trial LOOPS */
#include "../tests/job/suspect_trial.h"

#include <time.h>

static double
per_cent(size_t part, size_t whole)
{
    return whole > 0 ? 100 * (double)part / (double)whole : 0;
}

static void
print_line(const char *what, const struct trial_tally *y)
{
    printf("%-14s %6zu %6.1f %6.1f %6.1f %6.1f %6.1f %6.1f %6.1f\n", what, y->loops, per_cent(y->outside, y->loops),
        per_cent(y->named, y->outside), per_cent(y->any_first, y->outside), per_cent(y->any_third, y->outside),
        per_cent(y->identifiable, y->outside), per_cent(y->first, y->identifiable), per_cent(y->third, y->identifiable));
}

static void
print_head(const char *what)
{
    printf("%s\nslip            loops    out listed  first  three  ident  first  three\n", what);
}

/* So many loops of one slip. */
static int
one_slip(struct trial *t, enum suspect_slip slip, unsigned long loops)
{
    struct trial_tally y = { 0 };
    for (unsigned long i = 1; y.loops < loops && i < 20 * loops; i++) {
        int rc = trial_run(t, i + 2000000, slip);
        if (rc < 0)
            return -1;
        if (rc == 0)
            trial_count(&y, t);
    }
    print_line(suspect_table[slip].word, &y);
    return 0;
}

int
main(int argc, char **argv)
{
    static struct trial t;
    struct trial_tally all = { 0 };
    unsigned long loops = argc > 1 ? strtoul(argv[1], NULL, 10) : 20000;
    size_t false_alarms = 0;
    clock_t began = clock();
    puts("per cent: outside, of the loops; right slip listed, first, in the first three, identifiable: of those outside;\n"
         "first, in the first three: of those identifiable");
    for (unsigned long i = 1; i <= loops; i++) {
        if (trial_run(&t, i, TRIAL_ANY) != 0)
            return 1;
        trial_count(&all, &t);
    }
    double each = (double)(clock() - began) / CLOCKS_PER_SEC * 1000 / (double)loops;
    print_head("\ndrawn by the weights");
    print_line("all", &all);
    print_head("\none slip at a time");
    for (size_t i = 0; i < SUSPECT_SLIPS; i++)
        if (one_slip(&t, (enum suspect_slip)i, loops / 20) != 0)
            return 1;
    for (unsigned long i = 1; i <= loops / 10; i++) {
        if (trial_run(&t, i + 1000000, TRIAL_NO_SLIP) != 0)
            return 1;
        false_alarms += t.outside;
    }
    printf("\n%lu loops without a slip: %zu outside, %.1f per cent\n", loops / 10, false_alarms, per_cent(false_alarms, loops / 10));
    printf("%.2f ms a loop, making and reading the record included\n", each);
    return 0;
}
