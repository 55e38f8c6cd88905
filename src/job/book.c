/* book.c - the field book of a run, line by line, with its checks */
#include "parts.h"

void
job_book_open(struct job_book *b, const struct job *job, uint32_t run)
{
    *b = (struct job_book){ .job = job, .run = run, .row = job->r->run[run].first_row, .sight = job->run_sight[run],
        .leg = job->run_leg[run], .piece = 1 };
}

static struct job_item *
add_item(struct job_book *b, enum job_item_kind kind)
{
    struct job_item *item = &b->item[b->items++];
    *item = (struct job_item){ .kind = kind };
    return item;
}

static void
check_page(struct job_book *b)
{
    struct level_check next;
    struct job_item *item = add_item(b, JOB_PAGE_CHECK);
    item->number = b->page;
    item->agrees = level_check_close(&b->page_sums, &next);
    item->sums = b->page_sums;
    b->page_sums = next;
}

static void
check_piece(struct job_book *b, bool last)
{
    struct level_check next;
    struct job_item *item = add_item(b, JOB_PIECE_CHECK);
    item->number = b->piece++;
    item->last = last;
    item->agrees = level_check_close(&b->piece_sums, &next);
    item->sums = b->piece_sums;
    b->piece_sums = b->page_sums = (struct level_check){ 0 };
    b->open = false;
}

/* The leg of the next live sight. */
static const struct level_leg *
leg_at(struct job_book *b)
{
    const struct level_leg *leg = &b->job->leg[b->leg];
    if (b->sight >= (size_t)leg->first + leg->count)
        leg = &b->job->leg[++b->leg];
    return leg;
}

/* A live sight of the row goes into the line and the sums. */
static void
take_sight(struct job_book *b, struct job_line *line)
{
    const struct level_leg *leg = leg_at(b);
    const struct level_sight *s = &b->job->sight[b->sight++];
    const struct level_spot *spot = &b->job->level_spot[s->spot];
    line->known = leg->known;
    line->elevation = leg->raw_hi - s->reading;
    if (s->kind == LEVEL_BS) {
        line->hi = leg->raw_hi;
        line->setup = (uint32_t)(b->leg - b->job->run_leg[b->run]) + 1;
    } else if (b->open) {
        line->has_step = true;
        line->step = b->reading - s->reading;
    }
    bool ends = b->sight == (size_t)leg->first + leg->count; /* of an open set-up that closes on a mark */
    if (s->kind == LEVEL_IS && leg->known && spot->state == LEVEL_MARK && !(ends && s->spot == leg->to)) {
        line->on_mark = true;
        line->off_mark = leg->hi - s->reading - spot->value;
    }
    b->open = s->kind != LEVEL_FS;
    b->reading = s->reading;
    if (!leg->known)
        return; /* it hangs on nothing: no elevations to check */
    level_check_take(&b->page_sums, (enum level_kind)s->kind, s->reading, line->elevation);
    level_check_take(&b->piece_sums, (enum level_kind)s->kind, s->reading, line->elevation);
}

static struct job_line *
new_line(struct job_book *b, const struct record_row *row)
{
    struct job_line *line = &add_item(b, JOB_LINE)->line;
    line->row = row;
    line->entry = record_row_entry(b->job->r, (uint32_t)(row - b->job->r->row));
    line->dist = job_dist_of(b->job, row);
    line->number = record_row_number(b->job->r, (uint32_t)(row - b->job->r->row));
    return line;
}

/* The page that a row begins: a replacement takes over that of the row it stands for. */
static uint32_t
page_of(const struct job_book *b, const struct record_row *row)
{
    const struct record_extra *x = record_extra(b->job->r, row);
    if (x->page == RECORD_NONE && x->base != RECORD_NONE)
        x = record_extra(b->job->r, &b->job->r->row[x->base]);
    return x->page;
}

static void
turn_page(struct job_book *b, const struct record_row *row)
{
    uint32_t page = page_of(b, row);
    bool live = row_ahead_live(row) || row_bs_live(row);
    if (page == RECORD_NONE || page == b->page || (!live && record_extra(b->job->r, row)->replaced))
        return;
    if (b->page > 0)
        check_page(b);
    b->page = page;
}

static struct job_line *
ahead_line(struct job_book *b, const struct record_row *row)
{
    struct job_line *line = new_line(b, row);
    line->shows_ahead = true;
    line->struck_ahead = (row->flags & RECORD_STRUCK_AHEAD) != 0;
    if (row_ahead_live(row))
        take_sight(b, line);
    return line;
}

/* The foresight of a turning point is on the page before; its backsight on the row's own. */
static void
take_row(struct job_book *b)
{
    const struct record_row *row = &b->job->r->row[b->row];
    bool ahead = (row->flags & (RECORD_HAS_IS | RECORD_HAS_FS)) != 0, bs = (row->flags & RECORD_HAS_BS) != 0;
    bool break_bs = (row->flags & RECORD_BREAK_BS) != 0, break_ahead = (row->flags & RECORD_BREAK_AHEAD) != 0;
    struct job_line *line = NULL;
    b->row = record_row_next(b->job->r, &b->job->r->run[b->run], b->row);
    if (!(ahead && bs))
        turn_page(b, row);
    if (ahead) {
        line = ahead_line(b, row);
        size_t items = b->items;
        if (bs)
            turn_page(b, row);
        if (break_ahead && !(bs && break_bs))
            check_piece(b, false);
        if (b->items > items)
            line = NULL;
    }
    if (bs) {
        if (!line)
            line = new_line(b, row);
        line->shows_bs = true;
        line->struck_bs = (row->flags & RECORD_STRUCK_BS) != 0;
        if (row_bs_live(row))
            take_sight(b, line);
    }
    if (break_bs)
        check_piece(b, false);
}

static struct job_line *
section_line(struct job_book *b, const struct record_section *s)
{
    struct job_line *line = &add_item(b, JOB_LINE)->line;
    line->section = s;
    line->struck_ahead = s->strike != RECORD_NONE;
    return line;
}

/* Rises and falls stand for the sights that a section has not got. */
static void
sum_section(struct level_check *sums, const struct level_leg *leg)
{
    if (!sums->started)
        sums->first = leg->raw_hi - leg->rise;
    sums->started = true;
    sums->last = leg->raw_hi;
    length *to = leg->rise >= 0 ? &sums->sum_rise : &sums->sum_fall;
    sums->overflow |= !length_add(*to, leg->rise >= 0 ? leg->rise : -leg->rise, to);
    sums->sum_bs = sums->sum_rise;
    sums->sum_fs = sums->sum_fall;
}

/* Sections chain while each begins where the one before it ended. */
static void
take_section(struct job_book *b)
{
    const struct record_run *run = &b->job->r->run[b->run];
    const struct record_section *s = &b->job->r->section[b->row];
    b->row = b->row < run->last_row ? b->row + 1 : JOB_NONE;
    if (s->strike != RECORD_NONE) {
        section_line(b, s);
        return;
    }
    const struct level_leg *leg = &b->job->leg[b->leg++];
    if (b->piece_sums.started && leg[-1].to != leg->from) {
        check_piece(b, false);
        b->item[b->items - 1].sections = true;
    }
    struct job_line *line = section_line(b, s);
    line->known = leg->known;
    line->elevation = leg->raw_hi;
    line->has_step = true;
    line->step = leg->rise;
    sum_section(&b->piece_sums, leg);
}

static void
end_run(struct job_book *b)
{
    bool sections = b->job->r->run[b->run].sections;
    if (b->page > 0)
        check_page(b);
    check_piece(b, true);
    b->item[b->items - 1].sections = sections;
    b->ended = true;
}

const struct job_item *
job_book_next(struct job_book *b)
{
    while (b->given == b->items) {
        b->given = b->items = 0;
        if (b->ended)
            return NULL;
        if (b->row == JOB_NONE)
            end_run(b);
        else if (b->job->r->run[b->run].sections)
            take_section(b);
        else
            take_row(b);
    }
    return &b->item[b->given++];
}
