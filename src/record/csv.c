/* csv.c - cells and rows of a table of readings */
#include "rodbook/csv.h"

#include "entries.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#define refuse(c, place, check, ...) diag_say((c)->d, DIAG_ERROR, (place), (check), __VA_ARGS__)

/* ---- places ---- */

static struct diag_place
place_at(struct csv *c, size_t offset)
{
    for (; c->counted < offset; c->counted++)
        c->column += ((unsigned char)c->bytes[c->counted] & 0xc0) != 0x80;
    return (struct diag_place){ c->line, c->column };
}

/* The bytes of a line end at an offset: LF, or CR LF; 0 where none stands there. */
static size_t
line_end(const struct csv *c, size_t at)
{
    if (at < c->n && c->bytes[at] == '\n')
        return 1;
    return at + 1 < c->n && c->bytes[at] == '\r' && c->bytes[at + 1] == '\n' ? 2 : 0;
}

static void
pass_line_end(struct csv *c)
{
    c->at += line_end(c, c->at);
    c->line++;
    c->counted = c->at;
    c->column = 1;
}

/* ---- cells ---- */

static void
keep(struct csv *c, const char *bytes, size_t n)
{
    c->no_memory |= !append_text_add(&c->cell, bytes, n);
}

/* Up to the next comma or line end. */
static size_t
bare_end(const struct csv *c)
{
    size_t at = c->at;
    while (at < c->n && c->bytes[at] != ',' && line_end(c, at) == 0)
        at++;
    return at;
}

/* Behind an opening quote: to the one that closes it. Line ends become blanks. */
static void
take_quoted(struct csv *c, struct diag_place place)
{
    for (c->at++; c->at < c->n;) {
        const char *p = c->bytes + c->at;
        bool twice = *p == '"' && c->at + 1 < c->n && p[1] == '"';
        if (*p == '"' && !twice) {
            c->at++;
            return;
        }
        if (line_end(c, c->at) > 0) {
            pass_line_end(c);
            keep(c, " ", 1);
            continue;
        }
        keep(c, p, 1);
        c->at += twice ? 2 : 1;
    }
    refuse(c, place, "csv-quote", "the quote opened here is not closed; put one at the text's end, and write a quote inside it twice");
}

/* Nothing but blanks may stand between a closing quote and the comma. */
static void
pass_behind_quote(struct csv *c)
{
    size_t end = bare_end(c);
    while (c->at < end && c->bytes[c->at] == ' ')
        c->at++;
    if (c->at < end)
        refuse(c, place_at(c, c->at), "csv-quote", "text behind a closing quote; write a quote inside a text twice: \"4' 7-3/8\"\"\"");
    c->at = end;
}

/* A quote in a cell that does not begin with one is an inch sign, behind a figure, or a slip. */
static void
take_bare(struct csv *c)
{
    size_t end = bare_end(c);
    for (size_t i = c->at; i < end; i++)
        if (c->bytes[i] == '"' && (i == c->at || c->bytes[i - 1] < '0' || c->bytes[i - 1] > '9')) {
            refuse(c, place_at(c, i), "csv-quote", "a quote inside a cell; put quotes around the whole text, and write this one twice");
            break;
        }
    while (c->at < end && (c->bytes[c->at] == ' ' || c->bytes[c->at] == '\t'))
        c->at++;
    size_t stop = end;
    while (stop > c->at && (c->bytes[stop - 1] == ' ' || c->bytes[stop - 1] == '\t'))
        stop--;
    keep(c, c->bytes + c->at, stop - c->at);
    c->at = end;
}

/* What may stand in a record; tabs become blanks there, and here. */
static void
check_bytes(struct csv *c, struct csv_cell *cell)
{
    const char *bad = text_fault(cell->text, cell->n);
    if (bad)
        refuse(c, cell->place, "bytes", "%s; %s", text_fault_name(bad), text_fault_advice(bad));
    for (size_t i = 0; i < cell->n; i++)
        if (c->cell.bytes[i] == '\t')
            c->cell.bytes[i] = ' ';
    if (bad)
        c->cell.bytes[cell->n = 0] = '\0';
}

bool
csv_cell(struct csv *c, struct csv_cell *cell)
{
    cell->place = place_at(c, c->at);
    c->cell.n = 0;
    if (c->at < c->n && c->bytes[c->at] == '"') {
        take_quoted(c, cell->place);
        pass_behind_quote(c);
    } else {
        take_bare(c);
    }
    keep(c, "", 1); /* closes it */
    if (c->no_memory)
        return false;
    cell->text = c->cell.bytes;
    cell->n = c->cell.n - 1;
    check_bytes(c, cell);
    cell->last = c->at >= c->n || c->bytes[c->at] != ',';
    if (!cell->last)
        c->at++;
    else if (c->at < c->n)
        pass_line_end(c);
    c->row_ended = cell->last;
    return true;
}

/* ---- what a cell says ---- */

/* Bytes of a text that a complaint shows. */
static int
shown(const struct csv_cell *cell)
{
    return cell->n <= 40 && text_is_plain(cell->text, cell->n) ? (int)cell->n : 0;
}

struct column;
typedef void take(struct csv *c, const struct column *column, const struct csv_cell *cell, void *at);

struct column {
    const char *name;
    take *take;
    size_t offset, room; /* of the member that it fills, and of a text */
    const char *const *words;
    size_t word_count;
};

static void
take_cell_text(struct csv *c, const struct column *column, const struct csv_cell *cell, void *at)
{
    if (cell->n < column->room)
        memcpy(at, cell->text, cell->n + 1);
    else
        refuse(c, cell->place, column->room == WRITE_NAME ? "name" : "text", "%s: %zu bytes are too long; up to %zu can stand here",
            column->name, cell->n, column->room - 1);
}

static void
take_cell_word(struct csv *c, const struct column *column, const struct csv_cell *cell, void *at)
{
    char list[TEXT_LIST];
    for (size_t i = 0; i < column->word_count; i++)
        if (strcasecmp(column->words[i], cell->text) == 0) {
            *(uint32_t *)at = (uint32_t)i;
            return;
        }
    const char *near = text_nearest(cell->text, cell->n, column->words, column->word_count);
    if (near)
        refuse(c, cell->place, "word", "%s: %.*s is not known; nearest is %s", column->name, shown(cell), cell->text, near);
    else
        refuse(c, cell->place, "word", "%s: %.*s is not known; write one of %s", column->name, shown(cell), cell->text,
            text_list(list, column->words, column->word_count));
}

static void
take_cell_count(struct csv *c, const struct column *column, const struct csv_cell *cell, void *at)
{
    bool digits = cell->n <= 9 && cell->text[0] != '0' && strspn(cell->text, "0123456789") == cell->n;
    if (digits)
        *(uint32_t *)at = (uint32_t)strtoul(cell->text, NULL, 10);
    else
        refuse(c, cell->place, "count", "%s: %.*s is no whole number from 1 on", column->name, shown(cell), cell->text);
}

/* A length that fits where it is kept. */
static enum length_status
read_length(const struct csv *c, const char *text, size_t n, length *value)
{
    return n < WRITE_LENGTH ? length_read(text, n, c->unit, value) : LENGTH_EFORM;
}

static void
take_cell_length(struct csv *c, const struct column *column, const struct csv_cell *cell, void *at)
{
    length v = 0;
    enum length_status s = read_length(c, cell->text, cell->n, &v);
    if (s == LENGTH_OK)
        memcpy(at, cell->text, cell->n + 1);
    else
        say_length_of(c->d, cell->place, column->name, cell->text, cell->n, s, c->unit);
}

/* ---- readings: one, or three with blanks between ---- */

#define PARTS_MOST 16 /* words: three times 4 ft 7 3/8 in, and some more */

/* The words of a cell, and how many; more than PARTS_MOST are no reading. */
static size_t
parts_of(const struct csv_cell *cell, size_t start[PARTS_MOST], size_t end[PARTS_MOST])
{
    size_t n = 0;
    for (size_t i = 0; i < cell->n && n < PARTS_MOST;) {
        i += strspn(cell->text + i, " ");
        if (i >= cell->n)
            break;
        start[n] = i;
        i += strcspn(cell->text + i, " ");
        end[n++] = i;
    }
    return n;
}

/* Words first to last of a cell as one length. */
static bool
put_wire(const struct csv *c, const struct csv_cell *cell, size_t from, size_t to, struct write_sight *s, int wire)
{
    if (read_length(c, cell->text + from, to - from, &s->wire[wire]) != LENGTH_OK)
        return false;
    memcpy(s->text[wire], cell->text + from, to - from);
    s->text[wire][to - from] = '\0';
    return true;
}

/* Every way to part the words into three lengths; how many there are, and the last of them. */
static int
part_in_three(const struct csv *c, const struct csv_cell *cell, struct write_sight *s)
{
    size_t start[PARTS_MOST], end[PARTS_MOST], n = parts_of(cell, start, end);
    struct write_sight way = *s;
    int ways = 0;
    for (size_t i = 0; i + 2 < n && n < PARTS_MOST; i++)
        for (size_t k = i + 1; k + 1 < n; k++)
            if (put_wire(c, cell, start[0], end[i], &way, 0) && put_wire(c, cell, start[i + 1], end[k], &way, 1)
                && put_wire(c, cell, start[k + 1], end[n - 1], &way, 2)) {
                *s = way;
                ways++;
            }
    return ways;
}

/* Words that are a length each: 2, or 4 and more. */
static size_t
count_lengths(const struct csv *c, const struct csv_cell *cell)
{
    size_t start[PARTS_MOST], end[PARTS_MOST], n = parts_of(cell, start, end);
    length v;
    for (size_t i = 0; i < n; i++)
        if (read_length(c, cell->text + start[i], end[i] - start[i], &v) != LENGTH_OK)
            return 0;
    return n;
}

/* Three words, and one of them is no length: that one is told. */
static bool
say_wire(struct csv *c, const struct column *column, const struct csv_cell *cell)
{
    size_t start[PARTS_MOST], end[PARTS_MOST];
    length v;
    if (parts_of(cell, start, end) != 3)
        return false;
    for (size_t i = 0; i < 3; i++) {
        enum length_status s = read_length(c, cell->text + start[i], end[i] - start[i], &v);
        char word[WRITE_LENGTH] = "";
        if (s == LENGTH_OK || end[i] - start[i] >= sizeof word)
            continue;
        memcpy(word, cell->text + start[i], end[i] - start[i]);
        say_length_of(c->d, cell->place, column->name, word, end[i] - start[i], s, c->unit);
        return true;
    }
    return false;
}

static void
take_cell_reading(struct csv *c, const struct column *column, const struct csv_cell *cell, void *at)
{
    struct write_sight *s = at;
    enum length_status status = read_length(c, cell->text, cell->n, &s->value);
    if (status == LENGTH_OK) {
        s->wires = 1;
        memcpy(s->text[0], cell->text, cell->n + 1);
        return;
    }
    int ways = part_in_three(c, cell, s);
    size_t lengths = count_lengths(c, cell);
    s->wires = 3; /* whether it is one or not, a sight stands there */
    if (ways == 1)
        s->value = length_divide(s->wire[0] + s->wire[1] + s->wire[2], 1, 3);
    else if (ways > 1)
        refuse(c, cell->place, "three-wire", "%s: three readings that can be parted in more ways than one; write feet and inches with "
            "their signs: 4' 7-3/8\"", column->name);
    else if (lengths > 1)
        refuse(c, cell->place, "three-wire", "%s has %zu readings; write upper, middle and lower with blanks between", column->name, lengths);
    else if (!say_wire(c, column, cell))
        say_length_of(c->d, cell->place, column->name, cell->text, cell->n, status, c->unit);
}

/* ---- columns ---- */

static const char *const truth_words[] = { "false", "true" };
static const char *const sight_words[] = { "row", "bs", "fs" }; /* as enum record_sight */

#define AT(member) offsetof(struct csv_row, member)

static const struct column columns[CSV_COLUMNS] = {
    [CSV_POINT] = { "point", take_cell_text, AT(row.at), WRITE_NAME, NULL, 0 },
    [CSV_ON] = { "on", take_cell_word, AT(row.on), 0, on_words, RECORD_ON_COUNT },
    [CSV_BS] = { "bs", take_cell_reading, AT(row.bs), 0, NULL, 0 },
    [CSV_IS] = { "is", take_cell_reading, AT(row.is), 0, NULL, 0 },
    [CSV_FS] = { "fs", take_cell_reading, AT(row.fs), 0, NULL, 0 },
    [CSV_BS_DIST] = { "bs-dist", take_cell_length, AT(row.bs.dist), 0, NULL, 0 },
    [CSV_FS_DIST] = { "fs-dist", take_cell_length, AT(row.fs.dist), 0, NULL, 0 },
    [CSV_DIST] = { "dist", take_cell_length, AT(dist), 0, NULL, 0 },
    [CSV_MOVED] = { "moved", take_cell_word, AT(moved), 0, truth_words, 2 },
    [CSV_PAGE] = { "page", take_cell_count, AT(row.page), 0, NULL, 0 },
    [CSV_NOTE] = { "note", take_cell_text, AT(row.note), WRITE_NOTE, NULL, 0 },
    [CSV_STRUCK] = { "struck", take_cell_text, AT(struck), WRITE_NOTE, NULL, 0 },
    [CSV_SIGHT] = { "sight", take_cell_word, AT(sight), 0, sight_words, 3 },
    [CSV_FOR] = { "for", take_cell_count, AT(for_line), 0, NULL, 0 },
    [CSV_RUN] = { "run", take_cell_text, AT(run), WRITE_NAME, NULL, 0 },
};

static size_t
find_column(const char *name)
{
    size_t i = 0;
    while (i < CSV_COLUMNS && strcasecmp(columns[i].name, name) != 0)
        i++;
    return i;
}

static void
say_unknown_column(struct csv *c, const struct csv_cell *cell)
{
    const char *words[CSV_COLUMNS];
    for (size_t i = 0; i < CSV_COLUMNS; i++)
        words[i] = columns[i].name;
    const char *near = text_nearest(cell->text, cell->n, words, CSV_COLUMNS);
    if (cell->n == 0)
        refuse(c, cell->place, "csv-header", "a column without a name; name it, or take it out");
    else if (strpbrk(cell->text, ";|"))
        refuse(c, cell->place, "csv-header", "one cell holds all of %.*s; put commas between cells, and points in numbers", shown(cell),
            cell->text);
    else if (near)
        refuse(c, cell->place, "csv-header", "%.*s is no column; nearest is %s", shown(cell), cell->text, near);
    else
        refuse(c, cell->place, "csv-header", "%.*s is no column; the first row names columns in these words: point, on, bs, is, fs, "
            "bs-dist, fs-dist, dist, moved, page, note, struck, sight, for, run", shown(cell), cell->text);
}

static void
take_heading(struct csv *c, const struct csv_cell *cell)
{
    size_t which = find_column(cell->text);
    if (which == CSV_COLUMNS) {
        say_unknown_column(c, cell);
        return;
    }
    for (size_t i = 0; i < c->kinds; i++)
        if (c->kind[i] == which) {
            refuse(c, cell->place, "csv-header", "%s is given twice; each column once", columns[which].name);
            return;
        }
    c->kind[c->kinds++] = (uint8_t)which;
}

/* Line ends with nothing before them. */
static void
pass_empty_lines(struct csv *c)
{
    while (line_end(c, c->at) > 0)
        pass_line_end(c);
}

void
csv_begin(struct csv *c, const char *bytes, size_t n, enum length_unit unit, struct diag *d)
{
    static const char mark[] = "\xef\xbb\xbf"; /* a byte order mark */
    size_t skip = n >= 3 && memcmp(bytes, mark, 3) == 0 ? 3 : 0;
    *c = (struct csv){ .bytes = bytes, .n = n, .at = skip, .counted = skip, .line = 1, .column = 1, .unit = unit, .d = d };
}

int
csv_open(struct csv *c, const char *bytes, size_t n, enum length_unit unit, struct diag *d)
{
    struct csv_cell cell;
    size_t errors = d->errors;
    csv_begin(c, bytes, n, unit, d);
    pass_empty_lines(c);
    if (c->at == c->n) {
        refuse(c, ((struct diag_place){ 1, 1 }), "csv-header", "there is nothing in it; the first row names columns: point, bs, is, fs");
        return -1;
    }
    struct diag_place start = { c->line, 1 };
    do {
        if (!csv_cell(c, &cell))
            return -1;
        take_heading(c, &cell);
    } while (!cell.last && d->errors - errors < CSV_COLUMNS); /* more is no table of ours */
    bool point = false;
    for (size_t i = 0; i < c->kinds; i++)
        point |= c->kind[i] == CSV_POINT;
    if (!point && d->errors == errors)
        refuse(c, start, "csv-header", "no column says point; name it in the first row");
    return d->errors == errors ? 0 : -1;
}

void
csv_close(struct csv *c)
{
    append_text_release(&c->cell);
}

/* ---- rows ---- */

static void
take_cell(struct csv *c, size_t i, const struct csv_cell *cell, struct csv_row *row)
{
    const struct column *column = &columns[c->kind[i]];
    row->cell[c->kind[i]] = cell->place;
    if (cell->n > 0)
        column->take(c, column, cell, (char *)row + column->offset);
}

/* The cells of one row; true where any holds something. */
static bool
take_cells(struct csv *c, struct csv_row *row)
{
    struct csv_cell cell = { .last = false };
    bool any = false, said = false;
    for (size_t i = 0; !cell.last && csv_cell(c, &cell); i++) {
        any |= cell.n > 0;
        if (i < c->kinds)
            take_cell(c, i, &cell, row);
        else if (cell.n > 0 && !said) {
            said = true;
            refuse(c, cell.place, "csv-cell", "a cell too many: the first row names %zu columns; where a comma stands in a number write a "
                "point, where it stands in a text put quotes around that", c->kinds);
        }
    }
    return any;
}

/* The place of a cell, or of the row where there is no such column. */
static struct diag_place
place_of(const struct csv_row *row, enum csv_column which)
{
    return row->cell[which].line > 0 ? row->cell[which] : (struct diag_place){ row->line, 1 };
}

static void
check_sights(struct csv *c, const struct csv_row *row)
{
    bool bs = row->row.bs.wires > 0, is = row->row.is.wires > 0, fs = row->row.fs.wires > 0;
    if (!row->row.at[0])
        refuse(c, place_of(row, CSV_POINT), "missing-value", "a row without a point; name what the rod stood on");
    if (!bs && !is && !fs)
        refuse(c, place_of(row, CSV_POINT), "row-sights", "a row has bs, is or fs, or fs and bs; this has none");
    if (is && (bs || fs))
        refuse(c, place_of(row, CSV_IS), "row-sights", "is stands beside %s; an intermediate sight has a row of its own", bs ? "bs" : "fs");
}

static void
check_dists(struct csv *c, const struct csv_row *row)
{
    bool bs = row->row.bs.wires > 0, fs = row->row.fs.wires > 0, any = bs || fs || row->row.is.wires > 0;
    const char *const dists[] = { row->row.bs.dist, row->row.fs.dist };
    if (row->dist[0] && bs && fs)
        refuse(c, place_of(row, CSV_DIST), "row-dist", "dist does not say which sight; write fs-dist and bs-dist");
    if (row->row.bs.dist[0] && any && !bs)
        refuse(c, place_of(row, CSV_BS_DIST), "row-dist", "bs-dist without bs");
    if (row->row.fs.dist[0] && any && !fs)
        refuse(c, place_of(row, CSV_FS_DIST), "row-dist", "fs-dist without fs");
    for (size_t i = 0; i < 2; i++)
        if (dists[i][0] && row->dist[0] && !(bs && fs))
            refuse(c, place_of(row, (enum csv_column)(CSV_BS_DIST + i)), "row-dist", "%s beside dist; one sight has one length",
                columns[CSV_BS_DIST + i].name);
}

static void
check_row(struct csv *c, const struct csv_row *row)
{
    check_sights(c, row);
    check_dists(c, row);
    if (row->sight != RECORD_WHOLE_ROW && !row->struck[0])
        refuse(c, place_of(row, CSV_SIGHT), "strike", "sight says what of a struck row is struck; write the reason under struck");
}

/* The row's one length goes to its one sight. */
static void
place_dist(struct csv_row *row)
{
    struct write_row *w = &row->row;
    struct write_sight *s = w->fs.wires > 0 ? &w->fs : w->is.wires > 0 ? &w->is : &w->bs;
    if (row->dist[0])
        memcpy(s->dist, row->dist, sizeof s->dist);
    w->moved = row->moved == 1;
}

int
csv_next(struct csv *c, struct csv_row *row)
{
    for (;;) {
        pass_empty_lines(c);
        if (c->at >= c->n)
            return 0;
        memset(row, 0, sizeof *row);
        row->start = c->at;
        row->line = c->line;
        size_t errors = c->d->errors;
        bool any = take_cells(c, row);
        if (c->no_memory)
            return -1;
        if (!any && c->d->errors == errors)
            continue;
        if (c->d->errors == errors)
            check_row(c, row);
        place_dist(row);
        return 1;
    }
}
