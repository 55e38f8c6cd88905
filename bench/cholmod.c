/*
 * The same nets by CHOLMOD: normal equations, simplicial LL' after AMD, and
 * the inverse on the pattern of L by Takahashi's equations, columns from the
 * last to the first. Where a column of Z is much longer than what is looked
 * for in it, entries are found by halving, else by walking along.
 */
#include "bench.h"

#include <cholmod.h>

#include <stdlib.h>

static void
add(cholmod_triplet *t, int i, int j, double x)
{
    ((int *)t->i)[t->nnz] = i > j ? i : j;
    ((int *)t->j)[t->nnz] = i > j ? j : i;
    ((double *)t->x)[t->nnz++] = x;
}

/* Lower triangle; what stands in one place twice is summed. */
static cholmod_sparse *
normal_matrix(const struct net *net, double *b, cholmod_common *c)
{
    cholmod_triplet *t = cholmod_allocate_triplet(net->nodes, net->nodes, net->nodes + net->ties, -1, CHOLMOD_REAL, c);
    double *diagonal = calloc(net->nodes, sizeof *diagonal);
    for (size_t k = 0; k < net->ties; k++) {
        const struct net_tie *tie = &net->tie[k];
        double w = tie->weight;
        if (tie->from != NET_GROUND) {
            diagonal[tie->from] += w;
            b[tie->from] -= w * tie->short_by;
        }
        if (tie->to != NET_GROUND) {
            diagonal[tie->to] += w;
            b[tie->to] += w * tie->short_by;
        }
        if (tie->from != NET_GROUND && tie->to != NET_GROUND)
            add(t, (int)tie->from, (int)tie->to, -w);
    }
    for (size_t i = 0; i < net->nodes; i++)
        add(t, (int)i, (int)i, diagonal[i]);
    cholmod_sparse *a = cholmod_triplet_to_sparse(t, 0, c);
    cholmod_free_triplet(&t, c);
    free(diagonal);
    return a;
}

/* Position of `row` in the ascending rows at[from] to at[end - 1]: it is there. */
static int
halve(const int *at, int from, int end, int row)
{
    while (end - from > 1) {
        int middle = from + (end - from) / 2;
        if (at[middle] <= row)
            from = middle;
        else
            end = middle;
    }
    return from;
}

/* Z of column j, whose rows are at[first + 1] to at[end - 1]; l holds L over its diagonal, with the sign changed. */
static void
column(const int *p, const int *at, double *z, double *l, int j)
{
    int first = p[j], end = p[j + 1];
    double d = l[first];
    for (int i = first + 1; i < end; i++) {
        l[i] /= -d;
        z[i] = 0;
    }
    for (int i = first + 1; i < end; i++) {
        int q = p[at[i]], last = p[at[i] + 1];
        double li = l[i], sum = li * z[q];
        q++;
        if (last - q > 8 * (end - i)) {
            for (int k = i + 1; k < end; k++) {
                q = halve(at, q, last, at[k]);
                sum += l[k] * z[q];
                z[k] += li * z[q];
            }
        } else {
            for (int k = i + 1; k < end; k++) {
                while (at[q] != at[k])
                    q++;
                sum += l[k] * z[q];
                z[k] += li * z[q];
            }
        }
        z[i] += sum;
    }
    double own = 1 / (d * d);
    for (int i = first + 1; i < end; i++)
        own += l[i] * z[i];
    z[first] = own;
}

static void
give_out(const struct net *net, const cholmod_factor *f, const double *z, int *step)
{
    const int *perm = f->Perm, *p = f->p, *at = f->i;
    for (int s = 0; s < (int)net->nodes; s++) {
        step[perm[s]] = s;
        net->variance[perm[s]] = z[p[s]];
    }
    for (size_t k = 0; k < net->ties; k++) {
        const struct net_tie *tie = &net->tie[k];
        double spread = 0;
        if (tie->from == NET_GROUND || tie->to == NET_GROUND) {
            spread = net->variance[tie->from == NET_GROUND ? tie->to : tie->from];
        } else {
            int a = step[tie->from], b = step[tie->to], early = a < b ? a : b, late = a < b ? b : a;
            spread = z[p[a]] + z[p[b]] - 2 * z[halve(at, p[early], p[early + 1], late)];
        }
        net->spread[k] = spread;
        net->redundancy[k] = 1 - tie->weight * spread;
    }
}

static void
invert(const struct net *net, cholmod_factor *f)
{
    size_t n = net->nodes, entries = (size_t)((int *)f->p)[n];
    double *z = malloc(entries * sizeof *z);
    int *step = malloc(n * sizeof *step);
    for (int j = (int)n; j-- > 0;)
        column(f->p, f->i, z, f->x, j);
    give_out(net, f, z, step);
    free(step);
    free(z);
}

const char *
other_name(void)
{
    return "CHOLMOD";
}

/* In place: nothing is returned but in net's arrays. */
void
other_solve(struct net *net)
{
    cholmod_common c;
    cholmod_start(&c);
    c.nmethods = 1;
    c.method[0].ordering = CHOLMOD_AMD;
    c.supernodal = CHOLMOD_SIMPLICIAL;
    c.final_ll = 1;
    c.final_pack = 1;
    c.final_monotonic = 1;
    cholmod_dense *b = cholmod_zeros(net->nodes, 1, CHOLMOD_REAL, &c);
    cholmod_sparse *a = normal_matrix(net, b->x, &c);
    cholmod_factor *f = cholmod_analyze(a, &c);
    cholmod_factorize(a, f, &c);
    cholmod_dense *x = cholmod_solve(CHOLMOD_A, f, b, &c);
    for (size_t i = 0; i < net->nodes; i++)
        net->correction[i] = ((double *)x->x)[i];
    invert(net, f);
    cholmod_free_dense(&x, &c);
    cholmod_free_dense(&b, &c);
    cholmod_free_sparse(&a, &c);
    cholmod_free_factor(&f, &c);
    cholmod_finish(&c);
}
