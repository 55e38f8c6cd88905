/*
 * net.h - least squares over everything that a job holds together
 *
 * Every reading ties the height of an instrument to a point, every section a
 * point to a point, and a benchmark that has a standard deviation ties itself
 * to the ground. Points that are held are the ground. A net is this graph;
 * what is asked of it are corrections to elevations that were carried
 * exactly, and how sure they are.
 */
#ifndef RODBOOK_NET_H
#define RODBOOK_NET_H

#include <stddef.h>
#include <stdint.h>

#define NET_GROUND UINT32_MAX /* instead of a node: what is held */

/* One observation: elevation of `to` less that of `from`. */
struct net_tie {
    uint32_t from, to; /* nodes, or NET_GROUND; two different ones */
    double weight;     /* 1 / m^2: one over the square of its standard deviation; 1e-100 to 1e100 */
    double short_by;   /* m: observed, less what the carried elevations give; -1e100 to 1e100 */
};

enum net_status {
    NET_OK,
    NET_ETIE,     /* a tie from a node to itself, or to none; or a number out of its range, or none */
    NET_EGROUND,  /* a node that nothing ties to the ground, over others or directly */
    NET_EROOM     /* the work room was too small: give what it needs */
};

struct net {
    /* Given: */
    size_t nodes, ties;
    const struct net_tie *tie;
    /* Returned, in arrays of the caller's: */
    double *correction; /* [nodes] m, to the carried elevation */
    double *variance;   /* [nodes] m^2, of the adjusted elevation, by the weights given */
    double *spread;     /* [ties] m^2, variance of the adjusted observation */
    double *redundancy; /* [ties] 1 - weight * spread; exactly 0 for a bridge */
    size_t bad;         /* the first faulty tie or node; set with NET_ETIE and NET_EGROUND */
    size_t needs;       /* bytes of work room to try with next; set with NET_EROOM; SIZE_MAX: there is no such room */
    struct net_factor *factor; /* in the work room; what net_covariance() needs */
};

/*
 * Bytes of work room for a net; SIZE_MAX where they cannot be counted, or for
 * 2^30 nodes or ties. `fill` is 1 at first; who does not look at `needs`
 * doubles it after each NET_EROOM. With 0 it is the least that is worth trying.
 */
size_t net_room(size_t nodes, size_t ties, size_t fill);

/*
 * net_solve - adjust a net
 *
 * Given
 *   net        nodes, ties, tie; arrays for what is returned
 *   room       net_room() bytes, or what was needed; aligned for a double;
 *              kept as long as net_covariance() is called
 * Returned
 *   net        untouched arrays where the result is not NET_OK
 *
 * Method    Nodes are eliminated: first those of at most two neighbours, by
 *           number, and what that leaves with two; then by fewest neighbours,
 *           as near as bounds of them say. The order depends on the net
 *           alone, so that the same net gives the same bits. Eliminating k
 *           with whole weight W = g + sum w_i joins its neighbours by
 *           w_i w_j / W and gives each the ground w_i g / W: sums, products
 *           and quotients of positive numbers only, so that nothing cancels.
 *           Corrections are solved for twice, the second time for what the
 *           first ones leave, and again while they move; what rounding takes
 *           from sums of pulls is kept.
 *           The inverse comes back up the same order on the pattern of the
 *           elimination alone (Takahashi's equations):
 *             Z_ki = sum_j (w_j / W) Z_ji,   Z_kk = 1 / W + sum_j (w_j / W) Z_kj.
 *           The variance of the adjusted observation between k and i is not
 *           Z_kk + Z_ii - 2 Z_ki, which cancels far from a benchmark, but by
 *           a recursion of its own over differences:
 *             R_ki = 1 / W + sum_jm l_j l_m (R_ij + R_im - R_jm) / 2,  l_j = w_j / W,
 *           the ground being one of the neighbours, with R_i,ground = Z_ii.
 * Accuracy  correction: some units in the last place of the largest, while
 *           the heaviest weight is less than 1e16 times the lightest; beyond
 *           that 1e-32 times that ratio. variance: each operation rounds a positive number, so that the
 *           relative error is bounded by some units in the last place for
 *           each step up from the ground, and one for each tie of a sum.
 *           spread: the same, relative to the largest spread of the
 *           neighbours concerned. redundancy: absolute, that of
 *           weight * spread; it may round to 0 where a tie is no bridge, but
 *           what checks it weighs next to nothing.
 * Source    elimination and inverse on the pattern: K. Takahashi, J. Fagan and
 *           M. Chin, Formation of a sparse bus impedance matrix and its
 *           application to short circuit study, 8th PICA (1973); elimination
 *           of a grounded Laplacian as star-mesh transform: L. Rosen (1924);
 *           all from memory.
 */
enum net_status net_solve(struct net *net, void *room, size_t bytes);

/*
 * net_covariance - covariance of every elevation with that of one node
 *
 * Given
 *   net          as net_solve() has left it, with its work room, of which a
 *                part is used: one call at a time
 *   node         a node; with NET_GROUND all covariances are 0
 * Returned
 *   out[nodes]   m^2, by the weights given; out[] has room for twice as many
 *
 * Accuracy  as of a variance in net_solve()
 */
void net_covariance(const struct net *net, uint32_t node, double *out);

/*
 * net_covariance_of - covariance of every elevation with a sum of elevations
 *
 * Given
 *   share[nodes]  how much of each is in the sum
 * Returned
 *   out[nodes]   m^2, by the weights given; out[] has room for twice as many. The sum's own variance is that of share * out.
 */
void net_covariance_of(const struct net *net, const double *share, double *out);

#endif
