/*
 * book - processor time of one line booked at the end of a long record
 *
 * usage: book TRIES RODBOOK
 *
 * Books READINGS readings into a new record, one entry each, through the
 * program itself; then, TRIES times on a copy, LINES lines more, and on
 * another copy none. The difference of the two, a line, is what a line costs
 * once the program has started: reading it, looking, appending, fsync(). The
 * records lie in memory (/dev/shm) where that can be, else in TMPDIR.
 */
#define _GNU_SOURCE
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#define READINGS 10000
#define LINES 1000
#define SETUPS_A_RUN 20
#define LINES_A_RUN 500
#define TRIES_MOST 1000

static char folder[512], record[600], copy[600], lines[600];

static void
give_up(const char *what)
{
    fprintf(stderr, "book: %s\n", what);
    exit(2);
}

/* Loops from BM1 home to it: side shots on battens, and a turning point in every twenty-fifth line. */
static void
put_lines(unsigned n)
{
    FILE *f = fopen(lines, "w");
    unsigned turn = LINES_A_RUN / SETUPS_A_RUN;
    if (!f)
        give_up("no room for the lines");
    for (unsigned i = 0; i < n; i++) {
        unsigned at = i % LINES_A_RUN;
        if (at == 0)
            fprintf(f, "bs BM1 4.62\n");
        else if (at == LINES_A_RUN - 1)
            fprintf(f, "fs BM1 4.62\n");
        else if (at % turn == 0)
            fprintf(f, "tp T%u 4.62 4.62\n", i / turn);
        else
            fprintf(f, "is batten W%u 3.%02u\n", at, at % 7 + 10);
    }
    if (fclose(f) != 0)
        give_up("the lines could not be written");
}

/* Runs the program with its output thrown away; processor seconds. */
static double
run(const char *input, char *const *argv)
{
    struct rusage use;
    int status = 0;
    pid_t child = fork();
    if (child == 0) {
        int in = open(input, O_RDONLY), null = open("/dev/null", O_WRONLY);
        dup2(in, 0);
        dup2(null, 1);
        execv(argv[0], argv);
        _exit(127);
    }
    if (child < 0 || wait4(child, &status, 0, &use) != child || !WIFEXITED(status) || WEXITSTATUS(status) != 0)
        give_up("the program did not do what it was asked");
    return (double)(use.ru_utime.tv_sec + use.ru_stime.tv_sec) + (double)(use.ru_utime.tv_usec + use.ru_stime.tv_usec) / 1e6;
}

static void
copy_record(void)
{
    char buffer[65536];
    ssize_t n;
    int from = open(record, O_RDONLY), to = open(copy, O_WRONLY | O_CREAT | O_TRUNC, 0666);
    while (from >= 0 && to >= 0 && (n = read(from, buffer, sizeof buffer)) > 0)
        if (write(to, buffer, (size_t)n) != n)
            give_up("the record could not be copied");
    if (from < 0 || to < 0 || close(from) != 0 || close(to) != 0)
        give_up("the record could not be copied");
}

static int
by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static void
clear(void)
{
    (void)unlink(record);
    (void)unlink(copy);
    (void)unlink(lines);
    (void)rmdir(folder);
}

static void
make_folder(void)
{
    const char *tmp = getenv("TMPDIR");
    snprintf(folder, sizeof folder, "/dev/shm/rodbook-XXXXXX");
    if (!mkdtemp(folder)) {
        snprintf(folder, sizeof folder, "%s/rodbook-XXXXXX", tmp ? tmp : "/tmp");
        if (!mkdtemp(folder))
            give_up("no folder for the records");
    }
    snprintf(record, sizeof record, "%s/record.yaml", folder);
    snprintf(copy, sizeof copy, "%s/copy.yaml", folder);
    snprintf(lines, sizeof lines, "%s/lines", folder);
    atexit(clear);
}

int
main(int argc, char **argv)
{
    static double cost[TRIES_MOST];
    size_t tries = argc == 3 ? strtoul(argv[1], NULL, 10) : 0;
    if (tries < 1 || tries > TRIES_MOST)
        give_up("usage: book TRIES RODBOOK");
    make_folder();
    run("/dev/null", (char *const[]){ argv[2], "new", "--job=Timing", "--unit=ft", "--least=0.01", "--rod-length=13",
        "--allow=0.02 per root-setup", "--benchmark=BM1 100", "--grade=string finish 101.50", record, NULL });
    put_lines(READINGS);
    run(lines, (char *const[]){ argv[2], "book", "--date=2026-05-02", record, NULL });
    put_lines(LINES);
    for (size_t i = 0; i < tries; i++) {
        char *const book[] = { argv[2], "book", "--date=2026-05-02", copy, NULL };
        copy_record();
        double start = run("/dev/null", book);
        copy_record();
        cost[i] = (run(lines, book) - start) * 1000 / LINES;
    }
    qsort(cost, tries, sizeof *cost, by_size);
    printf("book: %.3f ms of processor time a line (%.3f to %.3f), for %d lines behind %d readings\n", cost[tries / 2], cost[0],
        cost[tries - 1], LINES, READINGS);
    return 0;
}
