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
    double weight;     /* 1 / m^2: one over the square of its standard deviation; above 0 */
    double short_by;   /* m: observed, less what the carried elevations give */
};

enum net_status {
    NET_OK,
    NET_ETIE,     /* a tie from a node to itself, or to none; or a weight that is no number above 0 */
    NET_EGROUND,  /* a node that nothing ties to the ground */
    NET_EROOM     /* the work room was too small: give twice as much */
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
    size_t bad;         /* the faulty tie or node; set with NET_ETIE and NET_EGROUND */
    size_t needs;       /* bytes of work room that are enough; set with NET_EROOM */
    struct net_factor *factor; /* in the work room; what net_covariance() needs */
};

/* Bytes of work room for a net; `fill` is 1 at first, and doubled after each NET_EROOM. */
size_t net_room(size_t nodes, size_t ties, size_t fill);

/*
 * net_solve - adjust a net
 *
 * Given
 *   net        nodes, ties, tie; arrays for what is returned
 *   room       net_room() bytes, aligned for a double; kept as long as net_covariance() is called
 * Returned
 *   net        untouched arrays where the result is not NET_OK
 *
 * Method    Nodes are eliminated in the order of fewest neighbours, the
 *           lowest number first where they are few and equal. Eliminating k
 *           with whole weight W = g + sum w_i joins its neighbours by
 *           w_i w_j / W and gives each the ground w_i g / W: sums, products
 *           and quotients of positive numbers only, so that nothing cancels.
 *           The inverse comes back up the same order on the pattern of the
 *           elimination alone (Takahashi's equations):
 *             Z_ki = sum_j (w_j / W) Z_ji,   Z_kk = 1 / W + sum_j (w_j / W) Z_kj.
 *           The variance of the adjusted observation between k and i is not
 *           Z_kk + Z_ii - 2 Z_ki, which cancels far from a benchmark, but by
 *           a recursion of its own over differences:
 *             R_ki = 1 / W + sum_jm l_j l_m (R_ij + R_im - R_jm) / 2,  l_j = w_j / W,
 *           the ground being one of the neighbours, with R_i,ground = Z_ii.
 * Accuracy  variance: each operation rounds a positive number, so that the
 *           relative error is bounded by some units in the last place for
 *           each step up from the ground. spread: the same, relative to the
 *           largest spread of the neighbours concerned.
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
 * Returned
 *   out[nodes]   m^2, by the weights given; out[] has room for twice as many
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
