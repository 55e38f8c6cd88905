/*
 * make_record - a record of many rows, for timing
 *
 * usage: make_record ROWS [POINTS]
 *
 * Runs of 1000 rows, 20 set-ups each, opening and closing on BM1; four fifths
 * of the points are battens placed in a points entry and read as side shots in
 * walking order, round after round, the rest turning points. Readings agree with one set of
 * invented elevations to within 0.002 ft, by a fixed sequence.
 */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#define ROWS_A_RUN 1000
#define SETUPS_A_RUN 20

static uint64_t state = 20260502;

/* Knuth's MMIX generator: TAOCP 2, 3rd ed., 3.3.4, table 1, line 26. */
static unsigned
draw(unsigned below)
{
    state = state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (unsigned)((state >> 33) % below);
}

/* Elevation of a point, thousandths of a foot: 95 to 100 ft. */
static long
elevation(unsigned point)
{
    return 95000 + (long)((uint64_t)point * UINT64_C(2654435761) % 5000);
}

static void
put_reading(const char *key, long hi, long at)
{
    long r = hi - at + (long)draw(5) - 2;
    printf("%s: %ld.%03ld", key, r / 1000, r % 1000);
}

static void
put_run(unsigned run, unsigned rows, unsigned battens, unsigned turns)
{
    long hi = 0;
    printf("---\nlevels:\n  date: 2026-05-02\n  readings:\n");
    for (unsigned i = 0; i < rows; i++) {
        unsigned step = ROWS_A_RUN / SETUPS_A_RUN;
        if (i == 0 || i + 1 == rows) {
            hi = i == 0 ? 104000 + (long)draw(1000) : hi;
            put_reading(i == 0 ? "    - {at: BM1, bs" : "    - {at: BM1, fs", hi, 97000);
        } else if (i % step == 0) {
            unsigned turn = (run * SETUPS_A_RUN + i / step) % turns;
            printf("    - {at: T%u, ", turn);
            put_reading("fs", hi, elevation(battens + turn));
            hi = 104000 + (long)draw(1000);
            put_reading(", bs", hi, elevation(battens + turn));
        } else {
            unsigned batten = (run * ROWS_A_RUN + i) % battens; /* in walking order */
            printf("    - {at: B%u, on: batten, ", batten);
            put_reading("is", hi, elevation(batten));
        }
        printf("}\n");
    }
}

int
main(int argc, char **argv)
{
    unsigned long rows = argc > 1 ? strtoul(argv[1], NULL, 10) : 1000;
    unsigned points = argc > 2 ? (unsigned)strtoul(argv[2], NULL, 10) : 50000;
    unsigned battens = points / 5 * 4, turns = points - battens;
    if (rows < 2 || points < 200) {
        fprintf(stderr, "usage: make_record ROWS [POINTS], at least 2 and 200\n");
        return 2;
    }
    printf("---\njob: timing record\nunit: ft\nleast: 0.001\nrod-length: 13\n"
           "allow: {misclosure: 0.02, per: root-setup}\nspread: setups\n---\nmarks:\n  BM1: {elevation: 97.000}\n"
           "---\npoints:\n");
    for (unsigned i = 0; i < battens; i++)
        printf("  B%u: {x: %u, y: %u, kind: batten}\n", i, i % 200 * 4, i / 200 * 4);
    printf("---\ngrade: {name: string, means: finish, for: batten, level: 97.5, tolerance: 1/8 in,\n"
           "  slope: {fall: 1 in 240, towards: length}}\n");
    for (unsigned run = 0; rows > 0; run++) {
        unsigned n = rows > ROWS_A_RUN + 1 ? ROWS_A_RUN : (unsigned)rows;
        put_run(run, n, battens, turns);
        rows -= n;
    }
    return fflush(stdout) == 0 && !ferror(stdout) ? 0 : 1;
}
