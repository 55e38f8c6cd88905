/*
 * make_sealed - a record as it grows when each reading is booked as it is read, for timing
 *
 * usage: make_sealed MEGABYTES
 *
 * One reading an entry, each with its digest; runs of 1000 readings, 20
 * set-ups each, opening and closing on BM1, and a seal behind each run. The
 * readings agree with one set of invented elevations to within 0.002 ft, by a
 * fixed sequence; the times and the key are fixed, so that the same record is
 * made each time.
 */
#include "rodbook/append.h"
#include "rodbook/write.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#define ROWS_A_RUN 1000
#define ROWS_A_SETUP 50
#define TURNS 1000
#define BATTENS 4000

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

/* The record so far: what stands in `text` is not written yet. */
static struct append_text text;
static struct scan_end at;
static unsigned long seconds; /* since the job began */

static void
give_up(const char *why)
{
    fprintf(stderr, "make_sealed: %s\n", why);
    exit(2);
}

static void
append(char *body, size_t n, const struct seal_key *key)
{
    unsigned char digest[DIGEST_BYTES];
    if (append_compose(&text, &at, body, n, key, digest) != 0)
        give_up("out of memory");
    if (text.n > 1 << 20 && (fwrite(text.bytes, 1, text.n, stdout) != text.n))
        give_up("cannot write");
    if (text.n > 1 << 20)
        text.n = 0;
    free(body);
}

/* What stands in `out` as an entry, signed where a key is given. */
static void
close_entry(FILE *out, char **body, size_t *n, const struct seal_key *key)
{
    unsigned long day = seconds / 28800, left = seconds % 28800; /* eight hours a day, from eight o'clock */
    fprintf(out, "by: RO\ntime: %lu-%02lu-%02luT%02lu:%02lu:%02luZ\n", 2026 + day / 336, day / 28 % 12 + 1, day % 28 + 1,
        8 + left / 3600, left / 60 % 60, left % 60);
    seconds += 20;
    if (fclose(out) != 0)
        give_up("out of memory");
    append(*body, *n, key);
}

static void
set_sight(struct write_sight *sight, long hi, long elevation_of_foot)
{
    long r = hi - elevation_of_foot + (long)draw(5) - 2;
    sight->wires = 1;
    snprintf(sight->text[0], sizeof sight->text[0], "%ld.%03ld", r / 1000, r % 1000);
}

/* Row `i` of run `run`, and the height of instrument behind it. */
static struct write_row
row_of(unsigned run, unsigned i, long *hi)
{
    struct write_row row = { .on = RECORD_ON_MARK };
    row.fs.dist_value = row.bs.dist_value = row.is.dist_value = -1;
    bool first = i == 0, last = i + 1 == ROWS_A_RUN, turns = i % ROWS_A_SETUP == 0 && !first;
    unsigned turn = (run * (ROWS_A_RUN / ROWS_A_SETUP) + i / ROWS_A_SETUP) % TURNS;
    unsigned batten = (run * ROWS_A_RUN + i) % BATTENS; /* in walking order */
    long foot = first || last ? 97000 : elevation(turns ? BATTENS + turn : batten);
    if (first || last)
        snprintf(row.at, sizeof row.at, "BM1");
    else
        snprintf(row.at, sizeof row.at, "%s%u", turns ? "T" : "B", turns ? turn : batten);
    if (last || turns)
        set_sight(&row.fs, *hi, foot);
    if (first || turns) {
        *hi = 104000 + (long)draw(1000);
        set_sight(&row.bs, *hi, foot);
    }
    if (!first && !last && !turns) {
        row.on = RECORD_ON_BATTEN;
        set_sight(&row.is, *hi, foot);
    }
    return row;
}

static void
put_run(unsigned run, const struct seal_key *key)
{
    const struct write_head head = { .date = "2026-05-02", .instrument = "T1", .observer = "RO", .rodman = "LM" };
    uint32_t opened = at.entries + 1;
    char *body = NULL;
    size_t n = 0;
    long hi = 0;
    for (unsigned i = 0; i < ROWS_A_RUN; i++) {
        struct write_row row = row_of(run, i, &hi);
        FILE *out = open_memstream(&body, &n);
        if (!out)
            give_up("out of memory");
        write_levels(out, &head, i == 0 ? 0 : opened);
        write_row(out, &row);
        close_entry(out, &body, &n, NULL);
    }
    FILE *out = open_memstream(&body, &n);
    if (!out)
        give_up("out of memory");
    close_entry(out, &body, &n, key);
}

int
main(int argc, char **argv)
{
    static const unsigned char seed[SEAL_SEED_BYTES] = "a key for timing, and no secret";
    static const char *const heads[] = { "job: timing record\nunit: ft\nleast: 0.001\nrod-length: 13\n"
                                         "allow: {misclosure: 0.02, per: root-setup}\nspread: setups\n",
        "marks:\n  BM1: {elevation: 97.000}\n" };
    unsigned long megabytes = argc == 2 ? strtoul(argv[1], NULL, 10) : 0;
    struct seal_key key;
    if (megabytes < 1 || megabytes > 4000) {
        fprintf(stderr, "usage: make_sealed MEGABYTES, 1 to 4000\n");
        return 2;
    }
    seal_key_of(&key, seed);
    at = append_nowhere();
    for (size_t i = 0; i < 2; i++)
        append(strdup(heads[i]), strlen(heads[i]), NULL);
    for (unsigned run = 0; at.size < megabytes * 1000000; run++)
        put_run(run, &key);
    return fwrite(text.bytes, 1, text.n, stdout) == text.n && fflush(stdout) == 0 ? 0 : 1;
}
