/*
 * Processor time of the engine on nets of up to 700,000 points, all standard
 * deviations with it; with -DOTHER the same nets by the way of bench.h, turn
 * by turn, and the ratio. usage: net [TRIES]
 */
#include "bench.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

static double
now(void)
{
    struct timespec t;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void *
get(size_t n, size_t size)
{
    void *p = malloc(n * size + 1);
    if (p)
        return p;
    fprintf(stderr, "net: no memory\n");
    exit(1);
}

/* ---- nets ---- */

struct plan {
    struct net_tie *tie;
    size_t ties, nodes;
    uint64_t state;
};

/* Knuth's MMIX generator: TAOCP 2, 3rd ed., 3.3.4, table 1, line 26. */
static uint32_t
draw(struct plan *p, uint32_t below)
{
    p->state = p->state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (uint32_t)((p->state >> 33) % below);
}

static void
tie(struct plan *p, uint32_t from, uint32_t to)
{
    double sigma = 0.0005 + 1e-6 * draw(p, 1000); /* m */
    p->tie[p->ties++] = (struct net_tie){ from, to, 1 / (sigma * sigma), 1e-6 * draw(p, 2001) - 0.001 };
}

/* One line of points from the ground to the ground. */
static void
chain(struct plan *p, size_t points)
{
    tie(p, NET_GROUND, 0);
    for (uint32_t i = 1; i < points; i++)
        tie(p, i - 1, i);
    tie(p, (uint32_t)points - 1, NET_GROUND);
    p->nodes = points;
}

/* Set-ups with a backsight, 4 to 11 side shots and a foresight; a loop of 20 closes where it began, a benchmark each 40. */
static void
loops(struct plan *p, size_t points)
{
    uint32_t node = 0, turn = node++, start = turn, setups = 0;
    tie(p, NET_GROUND, turn);
    while (node + 14 < points) {
        uint32_t hi = node++, shots = 4 + draw(p, 8);
        tie(p, hi, turn);
        for (uint32_t i = 0; i < shots; i++) {
            tie(p, hi, node);
            uint32_t earlier = node > 20 ? node - 1 - draw(p, 12) : hi;
            if (earlier != hi && draw(p, 5) == 0)
                tie(p, hi, earlier); /* read once more from here */
            node++;
        }
        turn = node++;
        tie(p, hi, turn);
        if (++setups % 20 == 0) {
            hi = node++;
            tie(p, hi, turn);
            tie(p, hi, start);
            start = turn;
        }
        if (setups % 40 == 0)
            tie(p, NET_GROUND, turn);
    }
    p->nodes = node;
}

/* A square grid of junctions, `links` points on each line between two. */
static void
junctions(struct plan *p, size_t points, uint32_t links)
{
    uint32_t side = (uint32_t)sqrt((double)points / (1 + 2.0 * links)), node = side * side;
    tie(p, NET_GROUND, 0);
    for (uint32_t i = 0; i < side * side; i++)
        for (int down = 0; down < 2; down++) {
            uint32_t from = i, to = down ? i + side : i + 1;
            if (down ? to >= side * side : to % side == 0)
                continue;
            for (uint32_t k = 0; k < links; k++) {
                tie(p, from, node);
                from = node++;
            }
            tie(p, from, to);
        }
    p->nodes = node;
}

static void
chains_between(struct plan *p, size_t points)
{
    junctions(p, points, 10);
}

static void
grid(struct plan *p, size_t points)
{
    junctions(p, points, 0);
}

/* One instrument that reads all points; each is tied to the ground as well. */
static void
hub(struct plan *p, size_t points)
{
    p->nodes = points / 2 + 1;
    for (uint32_t i = 1; i < p->nodes; i++) {
        tie(p, 0, i);
        tie(p, i, NET_GROUND);
    }
}

/* Instruments that read all points of a closed line each, of so many points. */
static void
wheels(struct plan *p, size_t points, uint32_t rim)
{
    uint32_t count = (uint32_t)points / 2 / rim, hub = 0;
    for (uint32_t k = 0; k < count; k++, hub += rim + 1) {
        tie(p, hub, NET_GROUND);
        for (uint32_t i = 1; i <= rim; i++) {
            tie(p, hub, hub + i);
            tie(p, hub + i, hub + (i < rim ? i + 1 : 1));
        }
    }
    p->nodes = hub;
}

static void
wheel(struct plan *p, size_t points)
{
    wheels(p, points, (uint32_t)points / 2);
}

static void
small_wheels(struct plan *p, size_t points)
{
    wheels(p, points, 20);
}

static void
middling_wheels(struct plan *p, size_t points)
{
    wheels(p, points, 2000);
}

/* Two instruments that read the same points. */
static void
pair(struct plan *p, size_t points)
{
    p->nodes = points / 2 + 2;
    tie(p, 0, NET_GROUND);
    for (uint32_t i = 2; i < p->nodes; i++) {
        tie(p, 0, i);
        tie(p, 1, i);
    }
}

static struct net
plan_net(void (*make)(struct plan *, size_t), size_t points)
{
    struct plan p = { get(4 * points + 100, sizeof *p.tie), 0, 0, 20260714 };
    make(&p, points);
    struct net net = { .nodes = p.nodes, .ties = p.ties, .tie = p.tie };
    net.correction = get(p.nodes, sizeof(double));
    net.variance = get(p.nodes, sizeof(double));
    net.spread = get(p.ties, sizeof(double));
    net.redundancy = get(p.ties, sizeof(double));
    return net;
}

static void
forget(struct net *net)
{
    free((void *)net->tie);
    free(net->correction);
    free(net->variance);
    free(net->spread);
    free(net->redundancy);
}

/* ---- timing ---- */

struct room {
    void *at;
    size_t bytes;
};

static void
grow(struct room *room, size_t bytes)
{
    if (bytes <= room->bytes)
        return;
    free(room->at);
    *room = (struct room){ get(bytes, 1), bytes };
}

/* The room is asked for as a caller asks: once more where it was too small. */
static double
solve_in(struct net *net, struct room *room)
{
    double start = now();
    grow(room, net_room(net->nodes, net->ties, 1));
    enum net_status status = net_solve(net, room->at, room->bytes);
    if (status == NET_EROOM) {
        grow(room, net->needs);
        status = net_solve(net, room->at, room->bytes);
    }
    if (status != NET_OK) {
        fprintf(stderr, "net: the engine says %d\n", (int)status);
        exit(1);
    }
    return now() - start;
}

/* With a room of its own, and what it costs to have one. */
static double
solve(struct net *net, size_t *bytes)
{
    struct room room = { NULL, 0 };
    double start = now();
    (void)solve_in(net, &room);
    free(room.at);
    *bytes = room.bytes;
    return now() - start;
}

static int
ascending(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double
median(double *x, int n)
{
    qsort(x, (size_t)n, sizeof *x, ascending);
    return n % 2 ? x[n / 2] : (x[n / 2 - 1] + x[n / 2]) / 2;
}

#ifdef OTHER
/* How far two results are apart, relative to the largest. */
static double
apart(const double *a, const double *b, size_t n)
{
    double most = 0, largest = 1e-300;
    for (size_t i = 0; i < n; i++) {
        most = fmax(most, fabs(a[i] - b[i]));
        largest = fmax(largest, fabs(b[i]));
    }
    return most / largest;
}

static void
compare(const char *name, void (*make)(struct plan *, size_t), size_t points, int tries)
{
    struct net net = plan_net(make, points), other = plan_net(make, points);
    double ours[99], theirs[99], ratio[99];
    size_t room = 0;
    for (int i = 0; i < tries; i++) {
        ours[i] = solve(&net, &room);
        double start = now();
        other_solve(&other);
        theirs[i] = now() - start;
        ratio[i] = ours[i] / theirs[i];
    }
    double middle = median(ratio, tries);
    printf("%-28s %7zu nodes %8zu ties  engine %7.3f s  %s %7.3f s  ratio %.3f (%.3f to %.3f)  room %zu MB\n", name, net.nodes,
        net.ties, median(ours, tries), other_name(), median(theirs, tries), middle, ratio[0], ratio[tries - 1], room / 1000000);
    printf("%-28s apart, of the largest: corrections %.1e, variances %.1e, spreads %.1e\n", "",
        apart(net.correction, other.correction, net.nodes), apart(net.variance, other.variance, net.nodes),
        apart(net.spread, other.spread, net.ties));
    forget(&net);
    forget(&other);
}
#else
static void
compare(const char *name, void (*make)(struct plan *, size_t), size_t points, int tries)
{
    struct net net = plan_net(make, points);
    double ours[99];
    size_t room = 0;
    for (int i = 0; i < tries; i++)
        ours[i] = solve(&net, &room);
    printf("%-28s %7zu nodes %8zu ties  engine %7.3f s  room %zu MB\n", name, net.nodes, net.ties, median(ours, tries), room / 1000000);
    forget(&net);
}
#endif

/* Seconds for a net, small ones often enough to be measured. */
static double
seconds(struct net *net, struct room *room)
{
    size_t often = 1 + 200000 / net->nodes;
    double t = 0;
    for (size_t k = 0; k < often; k++)
        t += solve_in(net, room);
    return t / (double)often;
}

/*
 * Of time over points, the slope of logarithms from the first size to the
 * last, turn by turn. All sizes are solved in the same room: the C library
 * gives a small room back as it was and a large one as fresh pages, which
 * would be its growth, not the engine's.
 */
static void
growth(const char *name, void (*make)(struct plan *, size_t), int tries)
{
    static const size_t size[] = { 100, 1000, 10000, 100000, 700000 };
    struct room room = { NULL, 0 };
    struct net net[5];
    double each[5][99], slope[99];
    for (int i = 0; i < 5; i++)
        net[i] = plan_net(make, size[i]);
    (void)solve_in(&net[4], &room);
    for (int k = 0; k < tries; k++) {
        for (int i = 0; i < 5; i++)
            each[i][k] = seconds(&net[i], &room);
        slope[k] = log(each[4][k] / each[0][k]) / log((double)net[4].nodes / (double)net[0].nodes);
    }
    printf("%-28s", name);
    for (int i = 0; i < 5; i++) {
        printf(" %zu: %.1f ns", size[i], median(each[i], tries) / (double)net[i].nodes * 1e9);
        forget(&net[i]);
    }
    printf(" a node; exponent %.3f", median(slope, tries));
    printf(" (%.3f to %.3f)\n", slope[0], slope[tries - 1]);
    free(room.at);
}

/* For each tie, against another net of as many ties and no hub. */
static void
compare_hub(const char *name, void (*make)(struct plan *, size_t), void (*against)(struct plan *, size_t), int tries)
{
    struct net net = plan_net(make, 80000), plain = plan_net(against, 80000);
    double ratio[99], ours[99];
    size_t room;
    for (int i = 0; i < tries; i++) {
        ours[i] = solve(&net, &room) / (double)net.ties;
        ratio[i] = ours[i] / (solve(&plain, &room) / (double)plain.ties);
    }
    printf("%-28s %7zu ties  %.0f ns a tie, %.2f of a %s\n", name, net.ties, median(ours, tries) * 1e9, median(ratio, tries),
        against == chain ? "chain's" : "closed line's with hubs of 20 ties");
    forget(&net);
    forget(&plain);
}

int
main(int argc, char **argv)
{
    int tries = argc > 1 ? atoi(argv[1]) : 9, few = tries > 3 ? 3 : tries;
    if (!(tries >= 1 && tries <= 99))
        return 1;
    setvbuf(stdout, NULL, _IOLBF, 0); /* so that one can look on, also in a file */
    printf("processor time of the engine, medians; ratios turn by turn (median, least to greatest)\n");
#ifndef OTHER
    printf("CHOLMOD IS NOT HERE (libsuitesparse-dev): THERE IS NOTHING TO COMPARE WITH, ONLY TIMES OF OUR OWN\n");
#endif
    compare("loops with side shots", loops, 700000, tries);
    compare("one line", chain, 700000, tries);
    compare("junctions, 10 points between", chains_between, 700000, tries);
    compare("grid of junctions", grid, 40000, few);
    compare("grid of junctions", grid, 700000, few);
    growth("loops with side shots", loops, tries);
    growth("one line", chain, tries);
    growth("junctions, 10 points between", chains_between, tries);
    compare_hub("hub, points also to ground", hub, chain, tries);
    compare_hub("two hubs, the same points", pair, chain, tries);
    compare_hub("hub of a closed line", wheel, chain, tries);
    compare_hub("hub of a closed line", wheel, small_wheels, tries);
    compare_hub("hubs of 2000 ties", middling_wheels, small_wheels, tries);
    return 0;
}
