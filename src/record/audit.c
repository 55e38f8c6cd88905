#include "rodbook/audit.h"

#include "rodbook/room.h"

#include <stdlib.h>
#include <string.h>

/* ---- while the bytes are walked ---- */

struct gather {
    struct audit *a;
    struct scan scan;   /* its entries are kept where they will be read */
    uint32_t fits_line; /* digest line of a->fits_to */
    bool open_break;    /* the last digest did not fit */
    uint32_t last_hand; /* the last entry written by hand */
    bool no_memory;
};

/* One member more of a list; NULL where it is only counted. */
static void *
list_add(struct gather *g, void **at, size_t *n, size_t *room, size_t *all, size_t size)
{
    ++*all;
    if (g->a->ask.digests && *n >= AUDIT_KEPT)
        return NULL;
    void *grown = room_for(*at, room, *n, size);
    g->no_memory |= grown == NULL;
    if (!grown)
        return NULL;
    *at = grown;
    return (char *)grown + size * (*n)++;
}

#define ADD(g, list)                                                                                                \
    list_add((g), (void **)&(g)->a->list.at, &(g)->a->list.n, &(g)->a->list.room, &(g)->a->list.all,               \
        sizeof *(g)->a->list.at)

/* Hold an entry's digest against the digits on paper. */
static void
hold_paper(struct audit *a, const struct scan_found *found)
{
    char digits[DIGEST_HEX + 1];
    unsigned differ = 0, at = 0;
    digest_hex(digits, found->digest, DIGEST_BYTES);
    for (unsigned i = 0; a->ask.paper[i] && differ < 2; i++)
        if (digits[i] != a->ask.paper[i]) {
            differ++;
            at = i;
        }
    if (differ == 0) {
        a->paper = AUDIT_FOUND;
        a->paper_entry = found->number;
    } else if (differ == 1 && a->paper != AUDIT_FOUND) {
        a->paper = AUDIT_NEAR;
        a->paper_entry = found->number;
        a->paper_digit = at + 1;
        a->paper_has = a->ask.paper[at];
        a->record_has = digits[at];
    }
}

static void
take_broken(struct gather *g, const struct scan_found *found)
{
    struct audit *a = g->a;
    if (g->open_break) {
        if (a->breaks.n == a->breaks.all)
            a->breaks.at[a->breaks.n - 1].last = found->number;
        return;
    }
    struct audit_break *b = ADD(g, breaks);
    g->open_break = true;
    if (b)
        *b = (struct audit_break){ .first = found->number, .last = found->number, .line = found->digest_line,
            .above = a->fits_to, .above_line = g->fits_line };
}

/* What stands above a digest that fits is covered by it. */
static void
cover(struct audit *a, uint32_t number)
{
    for (size_t i = a->hands.n; i-- > 0 && a->hands.at[i].covered == 0;)
        a->hands.at[i].covered = number;
    for (size_t i = a->torns.n; i-- > 0 && a->torns.at[i].covered == 0;)
        a->torns.at[i].covered = number;
    a->uncovered_hand = 0;
    a->uncovered_torn = 0;
}

static void
take_fitting(struct gather *g, const struct scan_found *found)
{
    struct audit *a = g->a;
    if (g->open_break && a->breaks.n == a->breaks.all)
        a->breaks.at[a->breaks.n - 1].again = found->number;
    g->open_break = false;
    if (a->uncovered_hand > 0 || a->uncovered_torn > 0)
        cover(a, found->number);
    a->fits_to = found->number;
    g->fits_line = found->digest_line;
}

static void
take_seal(struct gather *g, const struct scan_found *found)
{
    struct audit *a = g->a;
    struct audit_seal seal = { .entry = found->number, .fits = found->entry.seal == SEAL_FITS, .by = RECORD_NONE,
        .time = RECORD_NONE };
    memcpy(seal.key, found->key, SEAL_KEY_BYTES);
    seal.asked = a->ask.key && memcmp(a->ask.key, seal.key, SEAL_KEY_BYTES) == 0;
    struct audit_seal *kept = ADD(g, seals);
    if (kept)
        *kept = seal;
    if (!seal.fits)
        return;
    a->last_seal = seal;
    a->asked_seals += seal.asked;
    a->other_seals += !seal.asked;
    if (seal.asked)
        a->last_asked = seal;
}

static void
take_torn(struct gather *g, const struct scan_found *found)
{
    struct audit_torn *torn = ADD(g, torns);
    g->a->torn++;
    g->a->uncovered_torn++;
    if (torn)
        *torn = (struct audit_torn){ .entry = found->number, .line = found->entry.line };
}

static void
take_hand(struct gather *g, const struct scan_found *found)
{
    struct audit *a = g->a;
    bool behind = g->last_hand > 0 && g->last_hand + 1 == found->number;
    g->last_hand = found->number;
    a->hand++;
    a->uncovered_hand++;
    if (behind && a->hands.n == a->hands.all)
        a->hands.at[a->hands.n - 1].last = found->number;
    struct audit_span *span = behind ? NULL : ADD(g, hands);
    if (span)
        *span = (struct audit_span){ .first = found->number, .last = found->number };
}

static int
take_entry(void *with, const struct scan_found *found)
{
    struct gather *g = with;
    struct audit *a = g->a;
    a->entries = found->number;
    if (!a->ask.digests && scan_keep(&g->scan, found) != 0)
        return -1;
    if (found->digest_line == 0) {
        if (found->entry.state == SCAN_TORN)
            take_torn(g, found);
        else
            take_hand(g, found);
        return g->no_memory ? -1 : 0;
    }
    if (a->ask.paper)
        hold_paper(a, found);
    if (found->entry.broken)
        take_broken(g, found);
    else
        take_fitting(g, found);
    if (found->entry.seal != SEAL_NONE)
        take_seal(g, found);
    return g->no_memory ? -1 : 0;
}

/* ---- once the entries are read ---- */

static void
date_seal(struct audit_seal *seal, const struct record *r)
{
    if (seal->entry == 0 || seal->entry > r->entries)
        return;
    seal->by = r->entry[seal->entry - 1].by;
    seal->time = r->entry[seal->entry - 1].time;
}

static void
date_seals(struct audit *a)
{
    for (size_t i = 0; i < a->seals.n; i++)
        date_seal(&a->seals.at[i], &a->r);
    date_seal(&a->last_seal, &a->r);
    date_seal(&a->last_asked, &a->r);
}

/* The strikes that row `i` stands for: of the sight ahead, and of the backsight where that is another. */
static int
stands_for(const struct record *r, uint32_t i, uint32_t strike[2])
{
    const struct record_row *row = &r->row[i];
    const struct record_extra *x = record_extra(r, row);
    if (x->for_entry == 0 || x->for_row == 0 || x->for_entry > r->entries)
        return 0;
    const struct record_entry *entry = &r->entry[x->for_entry - 1];
    if (entry->kind != RECORD_LEVELS || x->for_row > entry->rows || entry->first + x->for_row - 1 >= i)
        return 0;
    const struct record_extra *struck = record_extra(r, &r->row[entry->first + x->for_row - 1]);
    int n = 0;
    if ((row->flags & (RECORD_HAS_IS | RECORD_HAS_FS)) && struck->strike_ahead != RECORD_NONE)
        strike[n++] = struck->strike_ahead;
    if ((row->flags & RECORD_HAS_BS) && struck->strike_bs != RECORD_NONE && (n == 0 || strike[0] != struck->strike_bs))
        strike[n++] = struck->strike_bs;
    return n;
}

static bool
has_extra(const struct record_row *row)
{
    return row->more != RECORD_NONE && (row->more & RECORD_EXTRA) != 0;
}

/* What each strike strikes, and how many rows stand in its place. */
static void
find_struck(struct audit *a)
{
    const struct record *r = &a->r;
    uint32_t strike[2];
    for (uint32_t i = 0; i < r->rows; i++) {
        const struct record_row *row = &r->row[i];
        if (!has_extra(row))
            continue;
        const struct record_extra *x = record_extra(r, row);
        if (x->strike_ahead != RECORD_NONE)
            a->struck.at[x->strike_ahead].row = row;
        if (x->strike_bs != RECORD_NONE)
            a->struck.at[x->strike_bs].row = row;
        for (int k = stands_for(r, i, strike); k-- > 0;)
            a->struck.at[strike[k]].count++;
    }
    for (size_t i = 0; i < r->sections; i++)
        if (r->section[i].strike != RECORD_NONE)
            a->struck.at[r->section[i].strike].section = &r->section[i];
    for (size_t i = 0; i < r->tapeds; i++)
        if (r->taped[i].strike != RECORD_NONE)
            a->struck.at[r->taped[i].strike].taped = &r->taped[i];
}

/* The rows that stand for struck ones, strike by strike. */
static int
find_again(struct audit *a)
{
    const struct record *r = &a->r;
    size_t all = 0;
    uint32_t strike[2];
    for (size_t i = 0; i < a->struck.n; i++) {
        struct audit_struck *s = &a->struck.at[i];
        s->first = all;
        all += s->count;
        s->count = 0;
    }
    a->again = room_new(all, sizeof *a->again);
    if (!a->again)
        return -1;
    for (uint32_t i = 0; i < r->rows && all > 0; i++)
        for (int k = has_extra(&r->row[i]) ? stands_for(r, i, strike) : 0; k-- > 0;) {
            struct audit_struck *s = &a->struck.at[strike[k]];
            a->again[s->first + s->count++] = i;
        }
    return 0;
}

static int
read_strikes(struct audit *a)
{
    size_t n = a->r.strikes;
    a->struck.at = room_new(n, sizeof *a->struck.at);
    if (!a->struck.at)
        return -1;
    a->struck.n = a->struck.room = a->struck.all = n;
    for (size_t i = 0; i < n; i++)
        a->struck.at[i].strike = &a->r.strike[i];
    if (n == 0)
        return 0;
    find_struck(a);
    return find_again(a);
}

/* Complaints that no slip of a crew's pen draws: the text was damaged, or altered around a digest. */
static bool
is_damage(const char *check)
{
    static const char *const checks[] = { "bytes", "digest-line", "digest-form", "entry-number", "entry-first", "seal-form" };
    for (size_t i = 0; check && i < sizeof checks / sizeof checks[0]; i++)
        if (strcmp(checks[i], check) == 0)
            return true;
    return false;
}

static void
count_faults(struct audit *a, const struct diag *d, size_t since)
{
    for (size_t i = since; i < d->n; i++) {
        a->errors += d->item[i].level == DIAG_ERROR;
        a->damage += d->item[i].level == DIAG_ERROR && is_damage(d->item[i].check);
    }
}

int
audit_read(struct audit *a, const struct source *source, const struct audit_ask *ask, struct diag *d)
{
    struct gather g = { .a = a };
    struct scan_end *end = &g.scan.end;
    size_t since = d->n;
    *a = (struct audit){ .ask = *ask, .paper = ask->paper ? AUDIT_NOT_FOUND : AUDIT_NO_PAPER };
    int rc = scan_walk(source, d, take_entry, &g, false, &g.scan.chain, end);
    a->chain = g.scan.chain;
    a->unread = rc == 0 && end->size != source->n;
    if (rc == 0 && !a->unread && !ask->digests) {
        rc = record_read_scanned(&a->r, source, &g.scan, d);
        if (rc == 0)
            rc = read_strikes(a);
        if (rc == 0)
            date_seals(a);
    }
    scan_release(&g.scan);
    count_faults(a, d, since);
    return d->no_memory ? -1 : rc;
}

void
audit_release(struct audit *a)
{
    record_release(&a->r);
    free(a->seals.at);
    free(a->hands.at);
    free(a->torns.at);
    free(a->breaks.at);
    free(a->struck.at);
    free(a->again);
    *a = (struct audit){ 0 };
}

bool
audit_fits(const struct audit *a)
{
    bool paper = a->paper == AUDIT_NO_PAPER || a->paper == AUDIT_FOUND;
    bool key = !a->ask.key || a->asked_seals > 0;
    return a->chain.broken == 0 && a->chain.bad_seals == 0 && a->chain.torn_below == 0 && a->damage == 0 && paper && key;
}
