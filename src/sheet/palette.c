/* palette.c - the shades of a drawing as a short table */
#include "palette.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define STEPS 32768 /* 32 of red, of green, of blue */

/* What falls into one step. */
struct shade {
    uint32_t colour; /* an ink, or what was met first */
    bool known;
    size_t count;
    unsigned char number;
};

static size_t
step_of(uint32_t colour)
{
    return (colour >> 9 & 0x7c00) | (colour >> 6 & 0x3e0) | (colour >> 3 & 0x1f);
}

/* Where the run of pixels that are as pixel[i] ends: most of a page is long runs of white, so eight are looked at together. */
static size_t
run_end(const uint32_t *pixel, size_t i, size_t n)
{
    const uint32_t same = pixel[i];
    size_t end = i + 1;
    for (uint32_t other = 0; end + 8 <= n; end += 8) {
        for (size_t k = 0; k < 8; k++)
            other |= pixel[end + k] ^ same;
        if (other)
            break;
    }
    while (end < n && pixel[end] == same)
        end++;
    return end;
}

static void
count_shades(struct shade *shade, const uint32_t *pixel, size_t n)
{
    for (size_t i = 0, end; i < n; i = end) {
        struct shade *s = &shade[step_of(pixel[i])];
        end = run_end(pixel, i, n);
        s->count += end - i;
        if (!s->known) {
            s->known = true;
            s->colour = pixel[i] & 0xffffff;
        }
    }
}

static int
commoner_first(const void *a, const void *b)
{
    const struct shade *s = *(struct shade *const *)a, *t = *(struct shade *const *)b;
    if (s->count != t->count)
        return s->count < t->count ? 1 : -1;
    return s->colour < t->colour ? -1 : s->colour > t->colour;
}

static long
apart(uint32_t a, uint32_t b)
{
    long sum = 0;
    for (int shift = 0; shift < 24; shift += 8) {
        long d = (long)(a >> shift & 0xff) - (long)(b >> shift & 0xff);
        sum += d * d;
    }
    return sum;
}

static unsigned char
nearest(const struct palette *p, uint32_t colour)
{
    size_t best = 0;
    for (size_t i = 1; i < p->colours; i++)
        if (apart(p->colour[i], colour) < apart(p->colour[best], colour))
            best = i;
    return (unsigned char)best;
}

/* The table, and each met shade's number in it. */
static void
number_shades(struct shade *const *met, size_t n, struct palette *p)
{
    *p = (struct palette){ 0 };
    for (size_t i = 0; i < n; i++)
        if (i < PALETTE_MOST) {
            met[i]->number = (unsigned char)i;
            p->colour[p->colours++] = met[i]->colour;
        } else {
            met[i]->number = nearest(p, met[i]->colour);
        }
}

int
palette_sort(const uint32_t *pixel, size_t n, const uint32_t *ink, size_t inks, struct palette *p, unsigned char *number)
{
    struct shade *shade = calloc(STEPS, sizeof *shade), **met = calloc(STEPS, sizeof(struct shade *));
    size_t found = 0;
    int rc = -1;
    if (!shade || !met)
        goto free_all;
    for (size_t i = 0; i < inks; i++)
        shade[step_of(ink[i])] = (struct shade){ .colour = ink[i], .known = true };
    count_shades(shade, pixel, n);
    for (size_t i = 0; i < STEPS; i++)
        if (shade[i].count > 0)
            met[found++] = &shade[i];
    qsort(met, found, sizeof(struct shade *), commoner_first);
    number_shades(met, found, p);
    for (size_t i = 0, end; i < n; i = end) {
        end = run_end(pixel, i, n);
        memset(number + i, shade[step_of(pixel[i])].number, end - i);
    }
    rc = 0;
free_all:
    free(met);
    free(shade);
    return rc;
}
