/* square_rows.c - a figure from its rows: corrections, means, which lengths are sides, where it is to stand */
#include "square_parts.h"

#include "rodbook/room.h"

#include <math.h>
#include <string.h>

#define NEWTONS(kg) ((kg) * 9.80665) /* standard gravity, m/s^2: 3rd General Conference on Weights and Measures, 1901 */

/* ---- corrections ---- */

static struct site_tape
site_tape_of(const struct record_tape *t)
{
    const unsigned warm = RECORD_TAPE_TEMP | RECORD_TAPE_EXPANSION;
    const unsigned stretch = RECORD_TAPE_PULL | RECORD_TAPE_AREA | RECORD_TAPE_MODULUS;
    length weighed = t->weighed > 0 ? t->weighed : t->nominal;
    bool sags = (t->has & RECORD_TAPE_WEIGHT) && weighed > 0;
    return (struct site_tape){
        .has = ((t->has & RECORD_TAPE_LENGTH) ? SITE_TAPE_LENGTH : 0) | ((t->has & warm) == warm ? SITE_TAPE_TEMP : 0)
            | ((t->has & stretch) == stretch ? SITE_TAPE_PULL : 0) | (sags ? SITE_TAPE_SAG : 0),
        .nominal = t->nominal,
        .actual = t->actual,
        .temp = t->temp,
        .expansion = t->expansion,
        .pull = t->pull,
        .area = t->area,
        .modulus = t->modulus,
        .weight = sags ? NEWTONS(t->weight) / IN_M(weighed) : 0,
    };
}

static struct site_taped
site_taped_of(const struct record *r, const struct record_taped *row)
{
    return (struct site_taped){
        .has = ((row->has & RECORD_TAPED_TEMP) ? SITE_TAPE_TEMP : 0)
            | ((row->has & RECORD_TAPED_PULL) ? SITE_TAPE_PULL | (row->spans > 0 ? SITE_TAPE_SAG : 0) : 0)
            | ((row->has & RECORD_TAPED_RISE) ? SITE_TAPE_RISE : 0) | ((row->has & RECORD_TAPED_SLOPE) ? SITE_TAPE_SLOPE : 0),
        .read = row->read,
        .temp = row->temp,
        .pull = row->pull,
        .span = row->spans > 0 ? r->tape_span + row->first : NULL,
        .spans = row->spans,
        .rise = row->rise,
        .slope = row->slope,
    };
}

bool
square_normal_pull(const struct record_tape *tape, double *pull)
{
    struct site_tape t = site_tape_of(tape);
    if ((t.has & (SITE_TAPE_PULL | SITE_TAPE_SAG)) != (SITE_TAPE_PULL | SITE_TAPE_SAG) || t.nominal <= 0)
        return false;
    *pull = site_tape_normal_pull(&t, t.nominal);
    return true;
}

double
square_sigma_of(const struct record *r, const struct record_tape *t)
{
    return t->sigma > 0 ? t->sigma : r->job.unit == LENGTH_BARE_M ? SQUARE_SIGMA_M : SQUARE_SIGMA;
}

/* False: said. */
static bool
correct(const struct square *s, const struct record_taped *row, struct site_tape_corrections *c, struct diag *d)
{
    struct site_tape t = site_tape_of(&s->r->tape[row->tape]);
    struct site_taped how = site_taped_of(s->r, row);
    enum site_tape_status status = site_tape_correct(&t, &how, c);
    if (status == SITE_TAPE_ESTEEP)
        diag_say(d, DIAG_ERROR, row->place, "tape-row", "with its corrections the length is no longer than its rise; look at rise and read");
    if (status == SITE_TAPE_ESAG)
        diag_say(d, DIAG_ERROR, row->place, "tape-row", "so small a pull lets the tape sag by a tenth of the span; look at pull, spans and weight");
    return status == SITE_TAPE_OK;
}

/* ---- lengths ---- */

static bool
joins(const struct square_edge *e, uint32_t a, uint32_t b)
{
    return (e->a == a && e->b == b) || (e->a == b && e->b == a);
}

/* All readings of a pair, as a new length. -1 without memory. */
static int
add_length(struct square *s, struct square_figure *f, const struct square_edge *edge, size_t n, uint32_t a, uint32_t b, struct diag *d)
{
    struct square_length *grown = room_for(s->length, &s->length_room, s->lengths, sizeof *grown);
    if (!grown)
        return -1;
    s->length = grown;
    struct square_length *l = &grown[s->lengths++];
    *l = (struct square_length){ .a = a, .b = b, .first = (uint32_t)s->readings };
    f->lengths++;
    for (size_t i = 0; i < n; i++) {
        if (!joins(&edge[i], a, b))
            continue;
        struct square_reading *more = room_for(s->reading, &s->reading_room, s->readings, sizeof *more);
        if (!more)
            return -1;
        s->reading = more;
        more[s->readings] = (struct square_reading){ .row = &s->r->taped[edge[i].row] };
        if (!correct(s, more[s->readings].row, &more[s->readings].c, d))
            continue;
        s->readings++;
        l->count++;
    }
    f->taped += l->count > 0;
    return 0;
}

/* Means by weight, and how far the readings lie apart. */
static void
take_means(struct square *s, struct square_length *l)
{
    double weight = 0, low = 0, high = 0;
    for (uint32_t i = 0; i < l->count; i++) {
        const struct square_reading *reading = &s->reading[l->first + i];
        double sigma = square_sigma_of(s->r, &s->r->tape[reading->row->tape]), w = 1 / (sigma * sigma), is = reading->c.corrected;
        weight += w;
        l->read += w * IN_M(reading->row->read);
        l->correction += w * reading->c.sum;
        l->mean += w * is;
        low = i == 0 || is < low ? is : low;
        high = i == 0 || is > high ? is : high;
    }
    if (l->count == 0)
        return;
    l->read /= weight;
    l->correction /= weight;
    l->mean /= weight;
    l->apart = high - low;
    l->known = true;
    l->adjusted = l->mean;
    l->sigma = sqrt(1 / weight);
}

double
square_tolerance(const struct square *s, const struct square_figure *f, double of)
{
    const struct record_tape *t = &s->r->tape[f->tape];
    if (t->tolerance > 0)
        return IN_M(t->tolerance);
    if (of < IN_M(SQUARE_SHORT_TO))
        return IN_M(SQUARE_SHORT);
    return of <= IN_M(SQUARE_LONG_TO) * (1 + 1e-12) ? IN_M(SQUARE_LONG) : 0;
}

static void
take_intent(const struct square *s, const struct square_figure *f, struct square_length *l)
{
    length ax, ay, bx, by;
    if (f->bad_places || !square_place_of(s, l->a, &ax, &ay) || !square_place_of(s, l->b, &bx, &by) || (ax == bx && ay == by))
        return;
    l->intended = true;
    l->intent = hypot(IN_M(bx - ax), IN_M(by - ay));
    l->tolerance = square_tolerance(s, f, l->intent);
    if (l->count == 0)
        return;
    const struct record_taped *row = s->reading[l->first].row;
    struct site_tape t = site_tape_of(&s->r->tape[row->tape]);
    struct site_taped how = site_taped_of(s->r, row);
    double read;
    if (t.has == 0 && how.has == 0)
        return;
    if (site_tape_lay_out(&t, &how, (length)llround(l->intent * (double)LENGTH_M), &read) == SITE_TAPE_OK)
        l->lay_out = read;
}

/* ---- which lengths are sides ---- */

/* The three ways to take four points as two opposite pairs: with the first goes 1, 2 or 3. */
static const unsigned opposite[3][4] = { { 0, 1, 2, 3 }, { 0, 2, 1, 3 }, { 0, 3, 1, 2 } };

static int
sign_of_turn(const length x[4], const length y[4], unsigned a, unsigned b, unsigned c)
{
    length_wide turn = (length_wide)(x[b] - x[a]) * (y[c] - y[a]) - (length_wide)(y[b] - y[a]) * (x[c] - x[a]);
    return turn > 0 ? 1 : turn < 0 ? -1 : 0;
}

/* The pairing whose two lines cross: those are the diagonals; 3 where none do, and the four make no convex figure. */
static unsigned
crossing(const length x[4], const length y[4])
{
    for (unsigned k = 0; k < 3; k++) {
        const unsigned *o = opposite[k];
        if (sign_of_turn(x, y, o[0], o[1], o[2]) * sign_of_turn(x, y, o[0], o[1], o[3]) < 0
            && sign_of_turn(x, y, o[2], o[3], o[0]) * sign_of_turn(x, y, o[2], o[3], o[1]) < 0)
            return k;
    }
    return 3;
}

bool
square_makes_frame(const struct square *s, const uint32_t name[4])
{
    length x[4], y[4];
    for (unsigned k = 0; k < 4; k++)
        if (!square_place_of(s, name[k], &x[k], &y[k]))
            return false;
    return crossing(x, y) < 3;
}

/* Mean of a pair as read, m; below 0 where it was not taped. */
static double
taped_mean(const struct square *s, const struct square_edge *edge, size_t n, uint32_t a, uint32_t b)
{
    double sum = 0;
    size_t count = 0;
    for (size_t i = 0; i < n; i++)
        if (joins(&edge[i], a, b)) {
            sum += IN_M(s->r->taped[edge[i].row].read);
            count++;
        }
    return count > 0 ? sum / (double)count : -1;
}

/* By the lengths: the diagonals of a convex figure are longer together than either two opposite sides. Where one length of the
 * six is missing it is taken for a diagonal. 3 where fewer than five were taped. */
static unsigned
longest_pairing(const struct square *s, struct square_figure *f, const struct square_edge *edge, size_t n)
{
    double sum[3];
    unsigned missing = 0, most = 0, at = 3;
    for (unsigned k = 0; k < 3; k++) {
        const unsigned *o = opposite[k];
        double one = taped_mean(s, edge, n, f->corner[o[0]].name, f->corner[o[1]].name);
        double other = taped_mean(s, edge, n, f->corner[o[2]].name, f->corner[o[3]].name);
        unsigned lacks = (one < 0 ? 1u : 0u) + (other < 0 ? 1u : 0u);
        missing += lacks;
        at = lacks == 1 ? k : at;
        sum[k] = one + other;
        most = sum[k] > sum[most] ? k : most;
    }
    f->guessed = missing < 2;
    return missing == 0 ? most : missing == 1 ? at : 3;
}

/* The corners so that the first row that is a side is the base line, from its `from`. */
static void
begin_at_base(const struct square *s, struct square_figure *f, unsigned pairing, const struct square_edge *edge, size_t n)
{
    const unsigned *o = opposite[pairing], round[4] = { o[0], o[2], o[1], o[3] };
    uint32_t name[4];
    for (unsigned k = 0; k < 4; k++)
        name[k] = f->corner[round[k]].name;
    for (size_t i = 0; i < n; i++) {
        const struct record_taped *row = &s->r->taped[edge[i].row];
        unsigned from = 0, to = 0;
        while (name[from] != row->from)
            from++;
        while (name[to] != row->to)
            to++;
        unsigned apart = (to + 4 - from) % 4;
        if (apart == 2)
            continue;
        for (unsigned k = 0; k < 4; k++)
            f->corner[k].name = name[(from + k * apart) % 4]; /* apart is 1 or 3: round either way */
        return;
    }
    for (unsigned k = 0; k < 4; k++)
        f->corner[k].name = name[k];
}

void
square_order(const struct square *s, struct square_figure *f, const struct square_edge *edge, size_t n)
{
    length x[4], y[4];
    unsigned placed = 0, pairing;
    for (unsigned k = 0; k < 4; k++)
        placed += square_place_of(s, f->corner[k].name, &x[k], &y[k]);
    pairing = placed == 4 ? crossing(x, y) : 3;
    f->intended = pairing < 3;
    f->bad_places = placed == 4 && pairing == 3;
    if (f->ordered)
        return;
    if (pairing == 3)
        pairing = longest_pairing(s, f, edge, n);
    if (pairing == 3)
        return;
    f->ordered = true;
    begin_at_base(s, f, pairing, edge, n);
}

/* Where the corners are to be, in the frame's own coordinates. */
static void
take_frame_intent(const struct square *s, struct square_figure *f)
{
    length x[4], y[4];
    for (unsigned k = 0; k < 4; k++)
        if (!square_place_of(s, f->corner[k].name, &x[k], &y[k]))
            return; /* cannot be: all of them have places */
    double bx = IN_M(x[1] - x[0]), by = IN_M(y[1] - y[0]), base = hypot(bx, by);
    for (unsigned k = 0; k < 4; k++) {
        double dx = IN_M(x[k] - x[0]), dy = IN_M(y[k] - y[0]);
        f->intent.x[k] = (bx * dx + by * dy) / base;
        f->intent.y[k] = (bx * dy - by * dx) / base;
    }
    f->intended = site_frame_intend(&f->intent);
    f->bad_places = !f->intended;
}

/* ---- the figure ---- */

static int
frame_lengths(struct square *s, struct square_figure *f, const struct square_edge *edge, size_t n, struct diag *d)
{
    static const unsigned char end[SITE_FRAME_PAIRS][2] = { { 0, 1 }, { 1, 2 }, { 3, 2 }, { 0, 3 }, { 0, 2 }, { 1, 3 } };
    for (int p = 0; p < SITE_FRAME_PAIRS; p++)
        if (add_length(s, f, edge, n, f->corner[end[p][0]].name, f->corner[end[p][1]].name, d) != 0)
            return -1;
    return 0;
}

static int
figure_lengths(struct square *s, struct square_figure *f, const struct square_edge *edge, size_t n, struct diag *d)
{
    if (f->corners == 4)
        return frame_lengths(s, f, edge, n, d);
    if (f->corners == 2)
        return add_length(s, f, edge, n, f->corner[0].name, f->corner[1].name, d);
    for (unsigned k = 0; k < 3; k++)
        if (add_length(s, f, edge, n, f->corner[(k + 1) % 3].name, f->corner[(k + 2) % 3].name, d) != 0)
            return -1;
    return 0;
}

/* Three of a frame's four that were taped all round say something by themselves where the frame does not. */
static int
add_triangles(struct square *s, uint32_t tape, const struct square_edge *edge, size_t n, const uint32_t *name, struct diag *d)
{
    for (unsigned left_out = 0; left_out < 4; left_out++) {
        uint32_t three[3];
        unsigned k = 0;
        for (unsigned i = 0; i < 4; i++)
            if (i != left_out)
                three[k++] = name[i];
        bool taped = taped_mean(s, edge, n, three[0], three[1]) > 0 && taped_mean(s, edge, n, three[1], three[2]) > 0
            && taped_mean(s, edge, n, three[0], three[2]) > 0;
        if (taped)
            return square_add_figure(s, tape, edge, n, three, 3, false, d);
    }
    return 0;
}

int
square_add_figure(struct square *s, uint32_t tape, const struct square_edge *edge, size_t n, const uint32_t *name, unsigned corners,
    bool ordered, struct diag *d)
{
    struct square_figure *grown = room_for(s->figure, &s->figure_room, s->figures, sizeof *grown);
    size_t errors = d->errors;
    if (!grown)
        return -1;
    s->figure = grown;
    struct square_figure *f = &grown[s->figures++];
    const struct record_tape *t = &s->r->tape[tape];
    *f = (struct square_figure){ .shape = corners == 4 ? SQUARE_FRAME : corners == 3 ? SQUARE_TRIANGLE : SQUARE_LENGTH, .tape = tape,
        .position = 1, .before = SQUARE_NONE, .partly = SQUARE_NONE, .corners = corners, .first_length = (uint32_t)s->lengths, .share = 1, .square_at = 3,
        .sigma = square_sigma_of(s->r, t), .has_sigma = t->sigma > 0, .has_tolerance = t->tolerance > 0, .ordered = ordered };
    for (unsigned k = 0; k < corners; k++)
        f->corner[k] = (struct square_corner){ .name = name[k] };
    if (corners == 4)
        square_order(s, f, edge, n);
    if (corners == 4 && f->intended)
        take_frame_intent(s, f);
    if (figure_lengths(s, f, edge, n, d) != 0)
        return -1;
    if (d->errors > errors)
        return 0; /* said; nothing of it is printed */
    for (uint32_t i = 0; i < f->lengths; i++) {
        take_means(s, &s->length[f->first_length + i]);
        take_intent(s, f, &s->length[f->first_length + i]);
    }
    if (corners == 3)
        square_fit_triangle(s, f);
    else if (corners == 2)
        square_fit_length(s, f);
    else if (square_fit_frame(s, f) != 0)
        return -1;
    return f->state == SQUARE_WANTING ? add_triangles(s, tape, edge, n, name, d) : 0;
}
