/* page.c - pages with a head and a foot, and tables on them */
#include "page.h"

#include "fold.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

#define MARGIN 40.0      /* points, 14 mm: no printer cuts there, and a clip finds hold */
#define BARE_MARGIN 2.0  /* points: half of the widest pen */
#define BARE_CAPTION 40.0 /* points, for what stands above a bare page on paper */
#define LEADING 1.32     /* from base line to base line, as a share of the size */

static const struct canvas_type sheet_type = { PAGE_TITLE, CANVAS_END, CANVAS_BLACK, false, 0 }; /* of a sheet's title */
static const struct canvas_pen hairline = { 0.5, CANVAS_GREY, CANVAS_SOLID }, rule = { 1.2, CANVAS_BLACK, CANVAS_SOLID };

/* ---- what every page says ---- */

/* The later of two days, as texts that begin with one. */
static const char *
later(const struct record *r, const char *day, uint32_t text)
{
    const char *other = text == RECORD_NONE ? NULL : names_text(&r->texts, text);
    return !day || (other && strncmp(other, day, 10) > 0) ? other : day;
}

/* The last day of the record: that something was read or measured on, or an entry booked. */
static void
date_words(const struct record *r, FILE *out)
{
    const char *day = NULL;
    for (size_t i = 0; i < r->runs; i++)
        day = later(r, day, r->run[i].date);
    for (size_t i = 0; i < r->tapes; i++)
        day = later(r, day, r->tape[i].date);
    for (size_t i = 0; i < r->sets; i++)
        day = later(r, day, r->set[i].date);
    for (size_t i = 0; i < r->entries; i++)
        day = later(r, day, r->entry[i].time);
    if (day)
        fprintf(out, "%.10s; ", day);
}

static void
place_line(const struct job *job, FILE *out)
{
    const struct record *r = job->r;
    if (r->job.place != RECORD_NONE)
        fprintf(out, "%s; ", names_text(&r->texts, r->job.place));
    date_words(r, out);
    fprintf(out, "lengths in %s", r->job.unit == LENGTH_BARE_FT ? "feet" : r->job.unit == LENGTH_BARE_M ? "metres" : "feet and inches");
}

/* The line that is nearest to its limit, or farthest beyond it; with none judged, the first that closes. */
static const struct level_link *
worst_line(const struct job *job)
{
    const struct level_link *worst = NULL;
    double most = -1;
    for (size_t i = 0; i < job->work.links; i++) {
        const struct level_link *l = &job->work.link[i];
        double share = l->within == LEVEL_NOT_JUDGED ? 0 : (double)(l->misclosure < 0 ? -l->misclosure : l->misclosure) / l->allowed_nm;
        if (l->kind == LEVEL_SPUR || !(share > most))
            continue;
        most = share;
        worst = l;
    }
    return worst;
}

/* "(the worst of 3 loops and links)", of those that are judged, or none is. */
static void
worst_of(const struct job *job, const struct level_link *worst, FILE *out)
{
    static const char *const words[] = { "", "loops", "links", "loops and links" };
    size_t judged = 0, kinds = 0;
    for (size_t i = 0; i < job->work.links; i++) {
        const struct level_link *l = &job->work.link[i];
        if (l->kind == LEVEL_SPUR || (l->within == LEVEL_NOT_JUDGED) != (worst->within == LEVEL_NOT_JUDGED))
            continue;
        judged++;
        kinds |= l->kind == LEVEL_LOOP ? 1 : 2;
    }
    if (judged > 1)
        fprintf(out, " (the worst of %zu %s)", judged, words[kinds]);
}

static void
closure_words(const struct job *job, const struct sheet_style *style, FILE *out)
{
    char name[SHEET_WORDS * 8], misclosure[SHEET_WORDS], allowed[SHEET_WORDS];
    const struct level_link *worst = worst_line(job);
    if (!worst) {
        fputs(job->work.links ? "levels: nothing closes them" : "no levels are booked yet", out);
        return;
    }
    put_line_name(name, job, worst);
    sheet_misclosure_words(misclosure, worst->misclosure, style);
    fprintf(out, "%s: misclosure %s", name, misclosure);
    if (worst->within == LEVEL_NOT_JUDGED) {
        fputs(", not judged", out);
    } else {
        sheet_limit_words(allowed, worst->allowed_nm, style);
        fprintf(out, ", allowed %s: %s", allowed, sheet_within_word(worst->within));
    }
    worst_of(job, worst, out);
}

/* Where it lies: a level, or where it begins to slope. Nothing where what it goes through is not known. */
static void
level_words(const struct job *job, const struct job_grade *g, const struct sheet_style *style, FILE *out)
{
    char level[LENGTH_TEXT];
    const struct record_grade *from = g->from;
    if (!g->known)
        return;
    length_print(level, g->site.level, from->through > 0 ? style->adjusted : style->elevation);
    fprintf(out, " %s", level);
    if (g->site.form != SITE_LEVEL)
        fprintf(out, " at %s, sloping", from->through > 0 ? names_text(&job->r->names, from->at[0].at) : "x = y = 0");
}

static void
grade_words(const struct job *job, const struct sheet_style *style, FILE *out)
{
    for (uint32_t g = 0; g < job->grades && g < 2; g++) {
        const struct record_grade *from = job->grade[g].from;
        fprintf(out, "%s%s, %s", g == 0 ? "grade " : "; grade ", names_text(&job->r->names, from->name), from->subgrade ? "SUBGRADE" : "FINISH GRADE");
        level_words(job, &job->grade[g], style, out);
    }
    if (job->grades > 2)
        fprintf(out, "; and %zu more", job->grades - 2);
}

static void
line_end(struct page_words *w, FILE *out, size_t *used)
{
    fputc('\0', out);
    fflush(out);
    if (*used > w->line[w->lines] + 1)
        w->line[++w->lines] = *used; /* an empty one is left out: the next is written behind it */
    else
        w->line[w->lines] = *used;
}

int
page_words_open(struct page_words *w, const struct sheet_document *doc)
{
    struct sheet_style style = sheet_style_of(doc->job->r);
    size_t used = 0;
    *w = (struct page_words){ 0 };
    w->title = names_text(&doc->job->r->texts, doc->job->r->job.name);
    FILE *out = open_memstream(&w->bytes, &used);
    if (!out)
        return -1;
    place_line(doc->job, out);
    line_end(w, out, &used);
    grade_words(doc->job, &style, out);
    line_end(w, out, &used);
    closure_words(doc->job, &style, out);
    line_end(w, out, &used);
    sheet_record_seals(doc->job->r, "an audit says more", out);
    line_end(w, out, &used);
    bool whole = !ferror(out);
    return fclose(out) == 0 && whole ? 0 : -1;
}

void
page_words_release(struct page_words *w)
{
    free(w->bytes);
    *w = (struct page_words){ 0 };
}

/* ---- pages ---- */

/* What is free between the margins, no higher than wide: so it is as large on paper as it is drawn, and no strip on a screen. */
static void
undress(struct pages *p)
{
    p->width -= 2 * MARGIN;
    p->height -= 2 * MARGIN + BARE_CAPTION;
    if (p->height > p->width)
        p->height = p->width;
}

struct pages
pages_begin(struct canvas *c, const struct sheet_document *doc, const struct page_words *words)
{
    static const double sizes[][2] = { [SHEET_A4] = { 595.28, 841.89 }, [SHEET_LETTER] = { 612, 792 } }; /* ISO 216; ANSI/ASME Y14.1 */
    const double *size = sizes[doc->paper];
    struct pages p = { .canvas = c, .doc = doc, .words = words, .style = sheet_style_of(doc->job->r), .air = PAGE_AIR };
    p.width = size[doc->landscape];
    p.height = size[!doc->landscape];
    if (doc->bare)
        undress(&p);
    return p;
}

/* A text that is too wide even when it is narrowed: as much of it as fits, and "...". */
static void
cut(char *out, size_t room, const char *text, double size, bool bold, double most)
{
    size_t n = strlen(text);
    snprintf(out, room, "%s", text);
    while (n > 0 && canvas_text_width(out, size, bold) > most) {
        do
            n--;
        while (n > 0 && ((unsigned char)text[n] & 0xc0) == 0x80);
        snprintf(out, room, "%.*s...", (int)n, text);
    }
}

/* One line of a text at a place, no wider than `most`. */
static void
put_line(struct canvas *c, struct canvas_type type, double x, double y, double most, const char *text, size_t n)
{
    char line[SHEET_REMARK * 2];
    snprintf(line, sizeof line, "%.*s", (int)n, text);
    canvas_text_within(c, type, x, y, most, line);
}

/* Lines of the head below y; returns where the last one stands. */
static double
head_words(struct pages *p, double y, const char *text)
{
    char line[SHEET_REMARK * 2];
    struct canvas_type type = { PAGE_SMALL, CANVAS_START, CANVAS_BLACK, false, 0 };
    double most = p->right - p->left;
    for (size_t n; *text; text += n + (text[n] == '\n')) {
        n = strcspn(text, "\n");
        snprintf(line, sizeof line, "%.*s", (int)n, text);
        type.bold = sheet_warns(line);
        type.ink = type.bold ? CANVAS_ALERT : CANVAS_BLACK;
        for (const char *rest = line, *next; *rest; rest = next) {
            size_t fits = page_wrap(rest, PAGE_SMALL, type.bold, most, &next);
            y += PAGE_SMALL * LEADING;
            put_line(p->canvas, type, p->left, y, most, rest, fits);
        }
    }
    return y;
}

/* The name of the job, and what the page shows; below them what is said of the job. */
static void
head(struct pages *p)
{
    double y = MARGIN + PAGE_TITLE * CANVAS_CAPITAL, shows = canvas_text_width(p->sheet, PAGE_TITLE, false);
    double most = p->right - p->left - shows - 3 * PAGE_GAP;
    const struct canvas_type type = { PAGE_TITLE, CANVAS_START, CANVAS_BLACK, true, 0 };
    const double first = y;
    const char *next = p->words->title;
    for (const char *text = next; *text; text = next) {
        size_t n = page_wrap(text, PAGE_TITLE, true, most, &next);
        put_line(p->canvas, type, p->left, y, most, text, n);
        y += *next ? PAGE_TITLE * LEADING : 0;
    }
    canvas_text(p->canvas, sheet_type, p->right, first, p->sheet);
    y += 4;
    for (size_t i = 0; i < p->words->lines; i++)
        y = head_words(p, y, p->words->bytes + p->words->line[i]);
    y += 6;
    canvas_line(p->canvas, rule, p->left, y, p->right, y);
    p->top = y + 8;
}

static void
foot(struct pages *p)
{
    double y = p->height - MARGIN;
    char title[SHEET_SENTENCE];
    struct canvas_type small = { PAGE_SMALL, CANVAS_START, CANVAS_GREY, false, 0 };
    canvas_line(p->canvas, hairline, p->left, y - PAGE_SMALL - 3, p->right, y - PAGE_SMALL - 3);
    cut(title, sizeof title, p->words->title, PAGE_SMALL, false, (p->right - p->left) * 0.7);
    canvas_text(p->canvas, small, p->left, y, title);
    small.anchor = CANVAS_END;
    canvas_text_later(p->canvas, small, p->right, y);
    p->bottom = y - PAGE_SMALL - 9;
}

void
pages_number(struct pages *p)
{
    char words[SHEET_WORDS];
    for (size_t i = 0; i < p->canvas->pages; i++) {
        snprintf(words, sizeof words, "page %zu of %zu", i + 1, p->canvas->pages);
        canvas_text_now(p->canvas, i, words);
    }
}

void
pages_turn(struct pages *p, const char *sheet)
{
    char title[SHEET_SENTENCE];
    p->sheet = sheet;
    snprintf(title, sizeof title, "%s: %s, page %zu", p->words->title, sheet, p->canvas->pages + 1);
    canvas_turn(p->canvas, p->width, p->height, title);
    if (p->canvas->no_memory)
        return;
    double margin = p->doc->bare ? BARE_MARGIN : MARGIN;
    p->left = p->top = margin;
    p->right = p->width - margin;
    p->bottom = p->height - margin;
    if (!p->doc->bare) {
        head(p);
        foot(p);
    }
    p->begin = p->top;
    p->text = false;
}

void
pages_join(struct pages *p, const char *sheet)
{
    double y = p->top + PAGE_TITLE, base = y + 8 + PAGE_TITLE * CANVAS_CAPITAL;
    p->sheet = sheet;
    canvas_line(p->canvas, rule, p->left, y, p->right, y);
    canvas_text(p->canvas, sheet_type, p->right, base, sheet);
    p->top += PAGE_JOIN;
}

bool
pages_room(struct pages *p, double height)
{
    if (p->top + height <= p->bottom)
        return true;
    pages_turn(p, p->sheet);
    return false;
}

struct pages_kept
pages_keep(const struct pages *p)
{
    return (struct pages_kept){ *p, canvas_keep(p->canvas) };
}

void
pages_go_back(struct pages *p, const struct pages_kept *kept)
{
    canvas_go_back(p->canvas, &kept->canvas);
    *p = kept->p;
}

/* ---- text ---- */

#define VALUE_MOST 24 /* bytes: no value is longer, and none is broken, however narrow its place is */

/* Of text[n] what has room, cut between two letters, one letter at least; all of it where it has, be it narrowed. */
static size_t
letters_within(const char *text, size_t n, double size, bool bold, double most)
{
    char line[SHEET_REMARK * 2];
    uint32_t letter;
    size_t used = 0, fits = 0;
    snprintf(line, sizeof line, "%.*s", (int)n, text);
    if (n <= VALUE_MOST || (n < sizeof line && canvas_text_width(line, size, bold) * PAGE_NARROWEST <= most))
        return n;
    while (used < n && used + 8 < sizeof line) {
        used += text_next(text + used, &letter);
        snprintf(line, sizeof line, "%.*s", (int)used, text);
        if (fits > 0 && canvas_text_width(line, size, bold) > most)
            break;
        fits = used;
    }
    return fits;
}

size_t
page_wrap(const char *text, double size, bool bold, double most, const char **next)
{
    char line[SHEET_REMARK * 2];
    size_t fits = 0, words = 0, n = strlen(text);
    for (size_t end = 0; end < n;) {
        size_t word = end + strspn(text + end, " ");
        end = word + strcspn(text + word, " ");
        if (end < sizeof line) {
            memcpy(line, text, end);
            line[end] = '\0';
        }
        if (words > 0 && (end >= sizeof line || canvas_text_width(line, size, bold) > most))
            break;
        words = end;
        if (!fold_joins(text, n, end))
            fits = end;
    }
    if (fits == 0)
        fits = words; /* a value that has no room on any line */
    fits = letters_within(text, fits, size, bold, most); /* a word that has none goes over several */
    *next = text + fits + strspn(text + fits, " ");
    return fits;
}

size_t
page_lines(const char *text, double size, bool bold, double most)
{
    size_t lines = 0;
    for (const char *next; *text; text = next, lines++)
        (void)page_wrap(text, size, bold, most, &next);
    return lines;
}

void
pages_line(struct pages *p, struct canvas_type type, const char *text)
{
    double most = p->right - p->left;
    for (const char *next; *text; text = next) {
        size_t n = page_wrap(text, type.size, type.bold, most, &next);
        (void)pages_room(p, type.size * LEADING);
        put_line(p->canvas, type, p->left, p->top + type.size * CANVAS_CAPITAL, most, text, n);
        p->top += type.size * LEADING;
    }
}

/* What is said of a grade; free() it. NULL without memory. */
static char *
grade_text(const struct pages *p, const struct job_grade *g)
{
    char *text = NULL;
    size_t n = 0;
    FILE *out = open_memstream(&text, &n);
    if (!out)
        return NULL;
    sheet_grade_heading(p->doc->job, g, &p->style, out);
    if (fclose(out) == 0)
        return text;
    free(text);
    return NULL;
}

/* The next line of those, its blanks off, closed by a zero; NULL behind the last. */
static char *
grade_line(char **rest)
{
    while (**rest == '\n' || **rest == ' ')
        ++*rest;
    char *line = *rest;
    *rest += strcspn(line, "\n");
    if (**rest)
        *(*rest)++ = '\0';
    return *line ? line : NULL;
}

static struct canvas_type
grade_type(bool first)
{
    return (struct canvas_type){ first ? PAGE_HEADING : PAGE_TEXT, CANVAS_START, CANVAS_BLACK, first, 0 };
}

int
pages_grade(struct pages *p, const struct job_grade *g)
{
    char *text = grade_text(p, g), *rest = text;
    for (char *line; text && (line = grade_line(&rest)) != NULL;)
        pages_line(p, grade_type(line == text + 1), line);
    free(text);
    return text ? 0 : -1;
}

double
pages_grade_height(const struct pages *p, const struct job_grade *g)
{
    char *text = grade_text(p, g), *rest = text;
    double height = 0;
    for (char *line; text && (line = grade_line(&rest)) != NULL;) {
        struct canvas_type type = grade_type(line == text + 1);
        height += (double)page_lines(line, type.size, type.bold, p->right - p->left) * type.size * LEADING;
    }
    free(text);
    return height;
}

int
pages_grade_again(struct pages *p, const struct job_grade *g)
{
    char *text = grade_text(p, g), again[SHEET_REMARK];
    if (!text)
        return -1;
    const char *line = text + strspn(text, "\n");
    snprintf(again, sizeof again, "%.*s" PAGE_AGAIN, (int)strcspn(line, "\n"), line);
    pages_line(p, (struct canvas_type){ PAGE_HEADING, CANVAS_START, CANVAS_BLACK, true, 0 }, again);
    free(text);
    return 0;
}

/* ---- tables ---- */

void
page_table_open(struct page_table *t, struct pages *p, const struct page_column *column, size_t columns, double size)
{
    double fixed = PAGE_GAP * (double)(columns - 1), x = p->left;
    *t = (struct page_table){ .p = p, .column = column, .columns = columns, .size = size };
    for (size_t i = 0; i < columns; i++)
        fixed += column[i].width;
    for (size_t i = 0; i < columns; i++) {
        t->width[i] = column[i].width > 0 ? column[i].width : p->right - p->left - fixed;
        t->left[i] = x;
        x += t->width[i] + PAGE_GAP;
    }
}

static void
put_cell(const struct page_table *t, size_t i, struct canvas_type type, double y, const char *text, size_t n)
{
    char line[SHEET_REMARK * 2], shown[SHEET_REMARK * 2 + 4];
    double most = t->width[i];
    snprintf(line, sizeof line, "%.*s", (int)n, text);
    cut(shown, sizeof shown, line, type.size, type.bold, most / PAGE_NARROWEST);
    canvas_text_within(t->p->canvas, type, t->left[i] + (type.anchor == CANVAS_END ? most : 0), y, most, shown);
}

static size_t
cell_lines(const struct page_table *t, size_t i, const char *text)
{
    if (!text || !text[0])
        return 0;
    if (!t->column[i].wraps)
        return 1;
    return page_lines(text, t->size, t->column[i].bold, t->width[i]);
}

double
page_table_height(const struct page_table *t, const char *const *cell)
{
    size_t most = 1;
    for (size_t i = 0; i < t->columns; i++) {
        size_t lines = cell_lines(t, i, cell[i]);
        most = lines > most ? lines : most;
    }
    return (double)most * t->size * LEADING + t->p->air;
}

/* Headings on the page at hand, where they do not stand yet. */
static void
table_head(struct page_table *t)
{
    struct pages *p = t->p;
    double y = p->top + PAGE_SMALL * CANVAS_CAPITAL;
    if (t->headed)
        return;
    for (size_t i = 0; i < t->columns; i++)
        if (t->column[i].heading)
            put_cell(t, i, (struct canvas_type){ PAGE_SMALL, t->column[i].anchor, CANVAS_GREY, false, 0 }, y, t->column[i].heading,
                strlen(t->column[i].heading));
    canvas_line(p->canvas, hairline, p->left, y + 3.5, p->right, y + 3.5);
    p->top = y + 8;
    t->headed = true;
}

double
page_table_row(struct page_table *t, const char *const *cell)
{
    struct pages *p = t->p;
    double height = page_table_height(t, cell);
    double headings = t->headed ? 0 : PAGE_TABLE_HEAD;
    if (!pages_room(p, height + headings))
        t->headed = false;
    table_head(t);
    double base = p->top + t->size * CANVAS_CAPITAL;
    for (size_t i = 0; i < t->columns; i++) {
        struct canvas_type type = { t->size, t->column[i].anchor, CANVAS_BLACK, t->column[i].bold, 0 };
        const char *text = cell[i] ? cell[i] : "", *next;
        double y = base;
        for (; *text; text = next) {
            next = text + strlen(text);
            size_t n = t->column[i].wraps ? page_wrap(text, t->size, t->column[i].bold, t->width[i], &next) : strlen(text);
            put_cell(t, i, type, y, text, n);
            y += t->size * LEADING;
        }
    }
    p->top += height;
    return base;
}

void
page_table_close(struct page_table *t)
{
    if (t->headed)
        canvas_line(t->p->canvas, hairline, t->p->left, t->p->top, t->p->right, t->p->top);
    t->p->top += PAGE_TABLE_END;
}
