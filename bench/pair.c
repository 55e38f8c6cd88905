/*
 * pair - processor time and memory of one command against another
 *
 * usage: pair TRIES COMMAND_A COMMAND_B
 *
 * The two run in turn, A B A B ..., output thrown away, after one turn that
 * is not counted. Prints the median of each, and the median, least and
 * greatest of the ratios A/B turn by turn; and the greatest memory of A.
 */
#define _GNU_SOURCE
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#define TRIES_MOST 1000

struct cost {
    double seconds;
    long kilobytes;
};

static struct cost
run(const char *command)
{
    struct rusage use;
    int status = 0;
    pid_t child = fork();
    if (child == 0) {
        /* words are parted at blanks: no shell stands between */
        char words[1024], *list[16], *save = NULL;
        size_t n = 0;
        int null = open("/dev/null", O_WRONLY);
        dup2(null, 1);
        dup2(null, 2);
        snprintf(words, sizeof words, "%s", command);
        for (char *w = strtok_r(words, " ", &save); w && n < 15; w = strtok_r(NULL, " ", &save))
            list[n++] = w;
        list[n] = NULL;
        execv(list[0], list);
        _exit(127);
    }
    if (child < 0 || wait4(child, &status, 0, &use) != child || !WIFEXITED(status) || WEXITSTATUS(status) > 1) {
        fprintf(stderr, "pair: %s did not run\n", command);
        exit(2);
    }
    struct cost c = { (double)(use.ru_utime.tv_sec + use.ru_stime.tv_sec)
            + (double)(use.ru_utime.tv_usec + use.ru_stime.tv_usec) / 1e6,
        use.ru_maxrss };
    return c;
}

static int
by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double
median(double *v, size_t n)
{
    qsort(v, n, sizeof *v, by_size);
    return n % 2 ? v[n / 2] : (v[n / 2 - 1] + v[n / 2]) / 2;
}

int
main(int argc, char **argv)
{
    static double a[TRIES_MOST], b[TRIES_MOST], ratio[TRIES_MOST];
    size_t tries = argc == 4 ? strtoul(argv[1], NULL, 10) : 0;
    long kilobytes = 0;
    if (tries < 1 || tries > TRIES_MOST) {
        fprintf(stderr, "usage: pair TRIES COMMAND_A COMMAND_B\n");
        return 2;
    }
    run(argv[2]);
    run(argv[3]);
    for (size_t i = 0; i < tries; i++) {
        struct cost x = run(argv[2]), y = run(argv[3]);
        a[i] = x.seconds;
        b[i] = y.seconds;
        ratio[i] = x.seconds / y.seconds;
        kilobytes = x.kilobytes > kilobytes ? x.kilobytes : kilobytes;
    }
    double ma = median(a, tries), mb = median(b, tries), mr = median(ratio, tries);
    printf("%9.4f s %9.4f s   ratio %5.3f (%5.3f to %5.3f)  %7ld kB\n", ma, mb, mr, ratio[0], ratio[tries - 1], kilobytes);
    return 0;
}
