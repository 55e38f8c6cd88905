/* dense.c - least squares with a few unknowns */
#include "rodbook/dense.h"

#include <gsl/gsl_multifit.h>

#define TOLERANCE 1e-12 /* of singular values of columns of length 1: far below any of a sound fit, far above rounding */

struct fit {
    gsl_matrix *x, *cov;
    gsl_vector *y, *w, *c;
    gsl_multifit_linear_workspace *work;
};

static void
release(struct fit *f)
{
    gsl_matrix_free(f->x);
    gsl_matrix_free(f->cov);
    gsl_vector_free(f->y);
    gsl_vector_free(f->w);
    gsl_vector_free(f->c);
    gsl_multifit_linear_free(f->work);
}

static int
fill(struct fit *f, const double *x, const double *y, const double *w, size_t n, size_t p)
{
    size_t rows = n > p ? n : p; /* rows of nought make up what GSL wants of them, and weigh nothing */
    *f = (struct fit){ gsl_matrix_calloc(rows, p), gsl_matrix_alloc(p, p), gsl_vector_calloc(rows), gsl_vector_alloc(rows), gsl_vector_alloc(p),
        gsl_multifit_linear_alloc(rows, p) };
    if (!f->x || !f->cov || !f->y || !f->w || !f->c || !f->work)
        return -1;
    gsl_vector_set_all(f->w, 1);
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < p; k++)
            gsl_matrix_set(f->x, i, k, x[i * p + k]);
        gsl_vector_set(f->y, i, y[i]);
        gsl_vector_set(f->w, i, w ? w[i] : 1);
    }
    return 0;
}

int
dense_fit(const double *x, const double *y, const double *w, size_t n, size_t p, double *c, double *cov, double *sum, size_t *rank)
{
    struct fit f = { 0 };
    double least;
    size_t found;
    if (n == 0 || p == 0)
        return -1;
    int rc = fill(&f, x, y, w, n, p);
    if (rc == 0 && gsl_multifit_wlinear_tsvd(f.x, f.w, f.y, TOLERANCE, f.c, f.cov, &least, &found, f.work) != 0)
        rc = -1;
    if (rc == 0) {
        for (size_t k = 0; k < p; k++)
            c[k] = gsl_vector_get(f.c, k);
        for (size_t k = 0; cov && k < p * p; k++)
            cov[k] = gsl_matrix_get(f.cov, k / p, k % p);
        *sum = least;
        *rank = found;
    }
    release(&f);
    return rc;
}
