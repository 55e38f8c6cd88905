/* test_sheets.c - sheets on paper, through the whole program: what stands on them and where, and that nothing stands over anything */
#include "drawn.h"

#include "../../src/sheet/canvas.h"

#include <dirent.h>
#include <stdbool.h>
#include <sys/stat.h>

#define PAGES_MOST 128

static char folder[] = "/tmp/rodbook-sheets-XXXXXX";

static int
make_folder(void **state)
{
    (void)state;
    return mkdtemp(folder) ? 0 : -1;
}

static void
empty_folder(void)
{
    DIR *d = opendir(folder);
    for (struct dirent *e; d && (e = readdir(d)) != NULL;) {
        char name[512];
        snprintf(name, sizeof name, "%s/%s", folder, e->d_name);
        if (e->d_name[0] != '.')
            assert_int_equal(unlink(name), 0);
    }
    closedir(d);
}

static int
remove_folder(void **state)
{
    (void)state;
    empty_folder();
    return rmdir(folder);
}

static const char *
in_folder(const char *name)
{
    static char path[2][256];
    static int which;
    which = !which;
    snprintf(path[which], sizeof path[which], "%s/%s", folder, name);
    return path[which];
}

/* All pages of "page.svg" that the program wrote. */
static size_t
read_pages(struct drawn_page page[PAGES_MOST])
{
    struct stat s;
    size_t n = 0;
    char name[32];
    if (stat(in_folder("page.svg"), &s) == 0) {
        page[n++] = drawn_read(in_folder("page.svg"));
        return n;
    }
    for (; n < PAGES_MOST; n++) {
        snprintf(name, sizeof name, "page-%zu.svg", n + 1);
        if (stat(in_folder(name), &s) != 0)
            break;
        page[n] = drawn_read(in_folder(name));
    }
    return n;
}

static void
are_clear(const char *survey, const char *paper, bool landscape)
{
    struct drawn_page page[PAGES_MOST];
    char name[128], of[64];
    empty_folder();
    struct ran r = landscape ? RUN("sheet", "--paper", paper, "--landscape", "-o", in_folder("page.svg"), survey)
                             : RUN("sheet", "--paper", paper, "-o", in_folder("page.svg"), survey);
    assert_string_equal(r.err, "");
    assert_int_equal(r.status, 0);
    ran_release(&r);
    size_t n = read_pages(page);
    assert_true(n > 0);
    for (size_t i = 0; i < n; i++) {
        snprintf(name, sizeof name, "%s %s%s page %zu", survey, paper, landscape ? " landscape" : "", i + 1);
        drawn_is_clear(&page[i], name);
        snprintf(of, sizeof of, "page %zu of %zu", i + 1, n);
        assert_non_null(drawn_find(&page[i], of));
        drawn_release(&page[i]);
    }
}

static void
on_both_papers(const char *survey)
{
    are_clear(survey, "a4", false);
    are_clear(survey, "a4", true);
    are_clear(survey, "letter", false);
    are_clear(survey, "letter", true);
}

static void
demo_jobs_are_clear(void **state)
{
    (void)state;
    on_both_papers("surveys/fernhill.yaml");
    on_both_papers("surveys/mill-lane.yaml");
    on_both_papers("surveys/quay-nursery.yaml");
}

/* What is done to each demo job's pages of some sheets, on both papers, upright and turned. */
typedef void of_pages(const struct drawn_page *page, size_t pages, const char *name);

static void
each_demo(const char *show, of_pages *test)
{
    static const char *const surveys[] = { "surveys/fernhill.yaml", "surveys/mill-lane.yaml", "surveys/quay-nursery.yaml" };
    struct drawn_page page[PAGES_MOST];
    char name[128];
    for (size_t i = 0; i < 12; i++) {
        const char *survey = surveys[i / 4], *paper = i & 1 ? "letter" : "a4";
        empty_folder();
        struct ran r = i & 2 ? RUN("sheet", "--show", show, "--paper", paper, "--landscape", "-o", in_folder("page.svg"), survey)
                             : RUN("sheet", "--show", show, "--paper", paper, "-o", in_folder("page.svg"), survey);
        assert_int_equal(r.status, 0);
        ran_release(&r);
        size_t n = read_pages(page);
        snprintf(name, sizeof name, "%s %s%s", survey, paper, i & 2 ? " landscape" : "");
        test(page, n, name);
        for (size_t k = 0; k < n; k++)
            drawn_release(&page[k]);
    }
}

static bool
begins(const char *text, const char *with)
{
    return strncmp(text, with, strlen(with)) == 0;
}

/* A mark's name stands larger than the words around it, in the second column. */
static bool
is_mark(const struct drawn_text *t)
{
    return t->size == 12 && t->left > 66.9 && t->left < 67.1;
}

static bool
names_lot(const char *words)
{
    return begins(words, "To move") || begins(words, "To leave") || begins(words, "Can't tell") || begins(words, "Not read yet");
}

/* B4 to be moved against one grade is not B4 to be left against another: each page says which it has, above its marks. */
static void
says_what_they_are(const struct drawn_page *page, size_t pages, const char *name)
{
    for (size_t i = 0; i < pages; i++) {
        const char *grade = NULL, *lot = NULL, *open = NULL; /* what stands above, and the last of it with no mark below it yet */
        size_t marks = 0;
        for (size_t k = 0; k < page[i].texts; k++) {
            const struct drawn_text *t = &page[i].text[k];
            if (begins(t->words, "Grade ") && t->size == 11) {
                if (strstr(t->words, " (continued)") && (i == 0 || marks > 0))
                    fail_msg("%s page %zu goes on with %s below others", name, i + 1, t->words);
                open = grade = t->words;
                lot = NULL;
            } else if (names_lot(t->words) && t->size == 11) {
                open = lot = t->words;
            } else if (is_mark(t)) {
                if (!grade || !lot)
                    fail_msg("%s page %zu: %s stands under nothing", name, i + 1, t->words);
                open = NULL;
                marks++;
            }
        }
        if (open)
            fail_msg("%s page %zu ends with %s", name, i + 1, open);
    }
}

static void
stake_pages_say_what_they_are(void **state)
{
    (void)state;
    each_demo("stakes", says_what_they_are);
    struct drawn_page page[PAGES_MOST];
    empty_folder();
    struct ran r = RUN("sheet", "--show", "stakes", "--paper", "letter", "-o", in_folder("page.svg"), "surveys/fernhill.yaml");
    ran_release(&r);
    size_t n = read_pages(page);
    assert_true(n > 1);
    assert_non_null(drawn_find(&page[1], "Grade string, entry 4: FINISH GRADE (continued)"));
    assert_non_null(drawn_find(&page[1], "To leave: on grade within the tolerance (continued)"));
    assert_non_null(drawn_find(&page[n - 1], "Grade pad, entry 8: SUBGRADE (continued)"));
    for (size_t i = 0; i < n; i++)
        drawn_release(&page[i]);
}

static bool
is_title(const struct drawn_text *t)
{
    return t->size == 15 && t->left > 100;
}

/* How far down a page its words go, but for its foot. */
static double
lowest(const struct drawn_page *p)
{
    double y = 0;
    for (size_t i = 0; i < p->texts; i++)
        y = p->text[i].bottom > y && p->text[i].bottom < p->height - 50 ? p->text[i].bottom : y;
    return y;
}

/* Each sheet has its large title once, on top of a page or below another sheet, and again on the pages that go on with it; and
 * none begins a page while half of the one before it is empty. */
static void
no_page_stays_empty(const struct drawn_page *page, size_t pages, const char *name)
{
    const char *sheet = "";
    size_t joined = 0;
    for (size_t i = 0; i < pages; i++) {
        size_t titles = 0;
        for (size_t k = 0; k < page[i].texts; k++) {
            const struct drawn_text *t = &page[i].text[k];
            if (!is_title(t))
                continue;
            double least = page[i].height * (page[i].height > page[i].width ? 0.6 : 0.4); /* a turned page has room for little that stays together */
            if (titles == 0 && i > 0 && strcmp(t->words, sheet) != 0 && lowest(&page[i - 1]) < least)
                fail_msg("%s page %zu stays empty before %s", name, i, t->words);
            if (titles > 0 && strcmp(t->words, sheet) == 0)
                fail_msg("%s page %zu: %s begins twice", name, i + 1, sheet);
            joined += titles > 0;
            sheet = t->words;
            titles++;
        }
        assert_true(titles > 0);
    }
    if (joined == 0)
        fail_msg("%s: no sheet begins below another", name);
}

static void
short_sheets_share_pages(void **state)
{
    (void)state;
    each_demo("site,square,pad,posts,concrete,run,book", no_page_stays_empty);
}

/* How the lines close is said once on all pages: in the field book, or in the first sheet where that is not among them. */
static void
closures_are_said_once(const struct drawn_page *page, size_t pages, const char *name)
{
    size_t said = 0;
    for (size_t i = 0; i < pages; i++) {
        const char *sheet = "";
        for (size_t k = 0; k < page[i].texts; k++) {
            const struct drawn_text *t = &page[i].text[k];
            sheet = is_title(t) ? t->words : sheet;
            if (!begins(t->words, "Closure (misclosure"))
                continue;
            said++;
            if (strcmp(sheet, "Concrete") == 0 || (strcmp(sheet, "Field book") != 0 && drawn_find(&page[pages - 1], "Field book")))
                fail_msg("%s page %zu says under %s how the lines close", name, i + 1, sheet);
        }
    }
    if (said != 1)
        fail_msg("%s says %zu times how the lines close", name, said);
}

static void
closures_stand_in_one_sheet(void **state)
{
    (void)state;
    each_demo("pad,posts,concrete,book", closures_are_said_once);
    each_demo("pad,posts,concrete", closures_are_said_once);
}

/* Two rows of a list, and a page for them: the rows before them stand closer. */
static void
no_page_for_two_rows(void **state)
{
    struct drawn_page page[PAGES_MOST];
    (void)state;
    empty_folder();
    struct ran r = RUN("sheet", "-o", in_folder("page.svg"), "surveys/mill-lane.yaml");
    assert_int_equal(r.status, 0);
    ran_release(&r);
    size_t n = read_pages(page), entries = 0;
    for (size_t i = 0; i < n; i++) {
        entries += drawn_find(&page[i], "Entries") != NULL;
        assert_null(drawn_find(&page[i], "Entries (continued)"));
        drawn_release(&page[i]);
    }
    assert_int_equal(entries, 1);
}

/* Nor for two marks of the stake sheet, nor does a note end early in a turned page's line. */
static void
no_page_for_two_marks(void **state)
{
    struct drawn_page page[PAGES_MOST];
    size_t marks = 0, notes = 0;
    (void)state;
    empty_folder();
    struct ran r = RUN("sheet", "--show", "stakes,record", "--landscape", "-o", in_folder("page.svg"), "surveys/fernhill.yaml");
    assert_int_equal(r.status, 0);
    ran_release(&r);
    size_t n = read_pages(page), last = n;
    for (size_t i = 0; i < n; i++)
        if (drawn_find(&page[i], "Stake sheet"))
            last = i;
    assert_true(last < n);
    for (size_t k = 0; k < page[last].texts; k++)
        marks += is_mark(&page[last].text[k]);
    assert_true(marks > 3);
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < page[i].texts; k++)
            notes += begins(page[i].text[k].words, "sealed: ") && strstr(page[i].text[k].words, "it can be altered without");
        drawn_release(&page[i]);
    }
    assert_int_equal(notes, 1);
}

/* No page begins with rows or words of what has its heading on another page, unless it says so. */
static void
goes_on_under_a_heading(const struct drawn_page *page, size_t pages, const char *name)
{
    for (size_t i = 0; i < pages; i++) {
        const struct drawn_text *first = NULL;
        for (size_t k = 0; !first && k < page[i].texts; k++)
            if (page[i].text[k].top > 95 && page[i].text[k].bottom < page[i].height - 50)
                first = &page[i].text[k];
        if (first && first->size == 7.5 && !begins(first->words, "Arrow up"))
            fail_msg("%s page %zu begins with the heads of a table: %s", name, i + 1, first->words);
    }
}

static void
tables_go_on_under_a_heading(void **state)
{
    (void)state;
    each_demo("stakes,site,square,pad,posts,concrete,run,book,record", goes_on_under_a_heading);
}

/* Who reads a page types no commands: what a terminal says so, a page says in the trade's words. */
static void
speaks_no_commands(const struct drawn_page *page, size_t pages, const char *name)
{
    static const char *const typed[] = { "rodbook", "--json", "moved: true", "continues:", "docs/" };
    for (size_t i = 0; i < pages; i++)
        for (size_t k = 0; k < page[i].texts; k++)
            for (size_t w = 0; w < sizeof typed / sizeof typed[0]; w++)
                if (strstr(page[i].text[k].words, typed[w]))
                    fail_msg("%s page %zu: \"%s\"", name, i + 1, page[i].text[k].words);
}

static void
pages_speak_no_commands(void **state)
{
    (void)state;
    each_demo("stakes,site,square,pad,posts,concrete,run,book,record", speaks_no_commands);
}

#define DESCENDS 0.236 /* of DejaVu Sans; drawn_text leaves out the tail of a p */

/* Rules that go over the whole width, where no letter may stand on them. */
static void
no_text_on_a_rule(const struct drawn_page *p, const char *name)
{
    for (const char *at = p->svg; (at = strstr(at, "<path d=\"M40 ")) != NULL; at++) {
        double y = strtod(at + strlen("<path d=\"M40 "), NULL), to;
        if (sscanf(at, "<path d=\"M40 %*fL%lf", &to) != 1 || to < p->width - 45)
            continue;
        for (size_t i = 0; i < p->texts; i++) {
            const struct drawn_text *t = &p->text[i];
            double base = t->bottom - 0.15 * t->size;
            if (t->top < y + 0.5 && base + DESCENDS * t->size > y - 0.5)
                fail_msg("%s: \"%s\" touches a rule", name, t->words);
        }
    }
}

static void
is_roomy(const struct drawn_page *page, size_t pages, const char *name)
{
    for (size_t i = 0; i < pages; i++) {
        no_text_on_a_rule(&page[i], name);
        for (size_t a = 0; a < page[i].texts; a++) {
            const struct drawn_text *t = &page[i].text[a];
            double natural = canvas_text_width(t->words, t->size, false);
            if (t->right - t->left < natural - 0.1)
                fail_msg("%s page %zu: \"%s\" is squeezed", name, i + 1, t->words);
            for (size_t b = 0; b < page[i].texts; b++) {
                const struct drawn_text *u = &page[i].text[b];
                double tail = t->bottom + (DESCENDS - 0.15) * t->size;
                if (u->top > t->top && u->top < tail + 0.8 && t->left < u->right && u->left < t->right)
                    fail_msg("%s page %zu: \"%s\" touches \"%s\" above it", name, i + 1, u->words, t->words);
            }
        }
    }
}

/* Nothing on a stake sheet is squeezed, and no tail of a letter touches what stands below it. */
static void
stake_rows_are_roomy(void **state)
{
    (void)state;
    each_demo("stakes", is_roomy);
}

/* No rod reads -1.1340: what is looked for is a mark below grade, and where it is read. And kinds and set-ups are no grey asides. */
static void
stake_rows_say_what_is_read(void **state)
{
    struct drawn_page page[PAGES_MOST];
    (void)state;
    empty_folder();
    struct ran r = RUN("sheet", "--show", "stakes", "-o", in_folder("page.svg"), "surveys/quay-nursery.yaml");
    assert_int_equal(r.status, 0);
    ran_release(&r);
    size_t n = read_pages(page), found = 0;
    for (size_t i = 0; i < n; i++) {
        assert_null(strstr(page[i].svg, "above sight"));
        assert_null(strstr(page[i].svg, ">-1.1340<"));
        const struct drawn_text *rod = drawn_find(&page[i], "0.8660"), *from = drawn_find(&page[i], "2 m below grade, from 12.1");
        if (rod && from) {
            assert_near(rod->size, 12, 0);
            assert_near(rod->left, from->left, 0);
            assert_non_null(strstr(page[i].svg, "fill=\"#141414\">2 m below grade, from 12.1<"));
            found++;
        }
        if (i == 0) {
            assert_non_null(strstr(page[i].svg, "fill=\"#141414\">batten<"));
            assert_non_null(strstr(page[i].svg, "fill=\"#141414\">from 7.2<"));
            assert_non_null(drawn_find(&page[i], "cut or fill, m; now to grade"));
        }
        drawn_release(&page[i]);
    }
    assert_int_equal(found, 1);
}

/* Which set-ups the grade rods are read from, and what to do from another one; once for each grade. */
static void
stake_sheets_name_their_set_ups(void **state)
{
    static const struct {
        const char *survey, *words;
    } keys[] = {
        { "surveys/fernhill.yaml", "16.1:\xc2\xa0" "2026-05-05,\xc2\xa0HI\xc2\xa0" "104.485" },
        { "surveys/fernhill.yaml", "Set up anew: HI ____________ less grade 101.17 = grade rod ____________" },
        { "surveys/mill-lane.yaml", "7.1:\xc2\xa0" "2026-04-11,\xc2\xa0HI\xc2\xa0" "24' 9-5/8\"" },
        { "surveys/quay-nursery.yaml", "Set up anew: HI ____________ less the mark's grade = grade rod ____________" },
        { "surveys/quay-nursery.yaml", "Set up anew: HI ____________ less 5.6500 (2 m below grade) = grade rod ____________" },
    };
    (void)state;
    for (size_t i = 0; i < sizeof keys / sizeof keys[0]; i++) {
        struct drawn_page page[PAGES_MOST];
        empty_folder();
        struct ran r = RUN("sheet", "--show", "stakes", "-o", in_folder("page.svg"), keys[i].survey);
        assert_int_equal(r.status, 0);
        ran_release(&r);
        size_t n = read_pages(page), found = 0;
        for (size_t k = 0; k < n; k++) {
            for (size_t t = 0; t < page[k].texts; t++)
                found += strstr(page[k].text[t].words, keys[i].words) != NULL;
            drawn_release(&page[k]);
        }
        if (found != 1)
            fail_msg("%s says \"%s\" %zu times", keys[i].survey, keys[i].words, found);
    }
}

/* What the head of every page says of the job: its last day, where its grades lie, and of how many lines the worst is told. */
static void
heads_say_what_holds(void **state)
{
    static const struct {
        const char *survey, *words;
    } heads[] = {
        { "surveys/fernhill.yaml", "plot 7, Fernhill allotments; 2026-05-06; lengths in feet" }, /* posts were measured a day after the last levels */
        { "surveys/fernhill.yaml",
            "loop BM1 to BM1, 3 set-ups from 5.1: misclosure -0.0200 ft, allowed 0.0346 ft: within (the worst of 3 loops)" },
        { "surveys/mill-lane.yaml", "grade sill, FINISH GRADE 21' 2\"; grade bed, SUBGRADE 20' 6\"" }, /* both through a mark */
        { "surveys/mill-lane.yaml",
            "loop STEP to STEP, 2 set-ups from 6.1: misclosure -1/8 in, allowed 0.177 in: within (the worst of 3 loops)" },
        { "surveys/quay-nursery.yaml",
            "link QA to QB, 1 set-up from 12.1: misclosure -2.00 mm, allowed 3.50 mm: within (the worst of 3 links)" }, /* and a spur */
    };
    (void)state;
    for (size_t i = 0; i < sizeof heads / sizeof heads[0]; i++) {
        struct drawn_page page[PAGES_MOST];
        empty_folder();
        struct ran r = RUN("sheet", "--show", "square", "-o", in_folder("page.svg"), heads[i].survey);
        assert_int_equal(r.status, 0);
        ran_release(&r);
        size_t n = read_pages(page);
        for (size_t k = 0; k < n; k++) {
            if (!drawn_find(&page[k], heads[i].words))
                fail_msg("page %zu of %s lacks \"%s\"", k + 1, heads[i].survey, heads[i].words);
            drawn_release(&page[k]);
        }
    }
}

/* A job of `posts` marks round a building, moves of all sizes; names in the alphabet of `name`, with a number. */
static void
write_job(const char *file, size_t posts, const char *unit, const char *name)
{
    FILE *f = fopen(file, "w");
    bool inches = strcmp(unit, "ft-in") == 0;
    const char *of = inches ? " ft" : "";
    assert_non_null(f);
    fprintf(f, "---\njob: \"Long house with many posts, %s\"\nplace: \"field behind the mill\"\nunit: %s\nleast: %s\nrod-length: 13%s\n"
        "allow: {misclosure: 0.05%s, per: root-setup}\n---\nmarks:\n  BM1: {elevation: 100%s}\n---\npoints:\n", name, unit,
        inches ? "1/16 in" : "0.01", of, of, of);
    for (size_t i = 0; i < posts; i++) {
        size_t half = posts / 2, along = i < half ? i : posts - 1 - i;
        fprintf(f, "  \"%s%zu\": {x: %zu%s, y: %d%s, kind: post}\n", name, i + 1, 6 * along, of, i < half ? 0 : 30, of);
    }
    fprintf(f, "---\ngrade: {name: top, means: finish, for: post, level: 101.5%s, tolerance: 1/8 in}\n---\nlevels:\n  date: 2026-05-02\n"
        "  readings:\n    - {at: BM1, bs: 4.62%s}\n", of, of);
    for (size_t i = 0; i < posts; i++)
        if (i % 17 != 3)
            fprintf(f, "    - {at: \"%s%zu\", on: post, is: %zu.%02zu%s}\n", name, i + 1, 2 + i % 3, i * 7 % 100, of);
    fprintf(f, "    - {at: BM1, fs: 4.63%s}\nby: RO\ntime: 2026-05-02T10:00:00Z\n", of);
    assert_int_equal(fclose(f), 0);
}

/* Two hundred marks: each has its name, its move and a box of its own, and nothing stands over anything. */
static void
two_hundred_marks_are_clear(void **state)
{
    static const char *const units[] = { "ft", "ft-in", "m" };
    (void)state;
    for (size_t u = 0; u < 3; u++) {
        char file[] = "/tmp/rodbook-many-XXXXXX";
        int fd = mkstemp(file);
        assert_true(fd >= 0);
        close(fd);
        write_job(file, 200, units[u], "N");
        on_both_papers(file);
        struct drawn_page page[PAGES_MOST];
        empty_folder();
        struct ran r = RUN("sheet", "--show", "stakes", "-o", in_folder("page.svg"), file);
        assert_int_equal(r.status, 0);
        ran_release(&r);
        size_t n = read_pages(page), found = 0, boxes = 0;
        for (size_t i = 0; i < n; i++) {
            for (size_t m = 1; m <= 200; m++) {
                char words[16];
                snprintf(words, sizeof words, "N%zu", m);
                const struct drawn_text *t = drawn_find(&page[i], words);
                found += t && t->size >= 10;
            }
            for (const char *at = page[i].svg; (at = strstr(at, "<path d=\"M40 ")) != NULL; at++)
                boxes += memmem(at, strcspn(at, ">"), "Z\"", 2) != NULL;
            drawn_release(&page[i]);
        }
        assert_int_equal(found, 200);
        assert_int_equal(boxes, 200);
        assert_int_equal(unlink(file), 0);
    }
}

/* Names that would be something else in SVG, in other alphabets, and long ones. */
static void
names_come_out_literally(void **state)
{
    static const char *const names[] = { "</text><script>alert(1)</script>&lt;", "\xd0\x97\xd0\xb0\xd0\xb1\xd0\xbe\xd1\x80",
        "\xd9\x85\xd8\xb1\xd8\xad\xd8\xa8\xd8\xa7", "\xe6\xb0\xb4\xe6\xba\x96\xe7\x82\xb9",
        "The post at the far end of the long wall beside the lane, north side no." };
    (void)state;
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        char file[] = "/tmp/rodbook-names-XXXXXX", words[128];
        int fd = mkstemp(file);
        assert_true(fd >= 0);
        close(fd);
        write_job(file, 12, "ft", names[i]);
        on_both_papers(file);
        struct drawn_page page[PAGES_MOST];
        size_t n = read_pages(page);
        snprintf(words, sizeof words, "%s7", names[i]);
        assert_non_null(drawn_find(&page[0], words));
        for (size_t k = 0; k < n; k++) {
            assert_null(strstr(page[k].svg, "<script"));
            drawn_release(&page[k]);
        }
        assert_int_equal(unlink(file), 0);
    }
}

/* Long names, long readings and notes of words without blanks: every table stays on its page, and no mark loses its name. */
static void
wide_tables_stay_on_the_page(void **state)
{
    static const char *const names[] = { "NorthGable rowx", "A name of eighty bytes that is as long as any name can be in a record of a job 8",
        "WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW" };
    static const char *const notes[] = { "rod stood on a clod, shot again from the other side",
        "WWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWWW" };
    (void)state;
    for (size_t i = 0; i < 6; i++) {
        char file[] = "/tmp/rodbook-wide-XXXXXX";
        const char *name = names[i / 2], *note = notes[i % 2];
        int fd = mkstemp(file);
        assert_true(fd >= 0);
        FILE *out = fdopen(fd, "w");
        assert_non_null(out);
        fprintf(out, "---\njob: %s, %s\nplace: %s\nunit: ft-in\nleast: 1/16 in\nallow: {misclosure: 1/8 in, per: root-setup}\n", name, name, note);
        fprintf(out, "---\nmarks:\n  BM1: {elevation: 1120 ft}\n---\npoints:\n  %s: {x: 0 ft, y: 0 ft, kind: batten}\n", name);
        fprintf(out, "---\ngrade: {name: g, means: finish, level: 1119 ft}\n---\nlevels:\n  date: 2026-05-02\n  readings:\n");
        fprintf(out, "    - {at: BM1, bs: 11' 11-15/16\"}\n    - {at: %s, on: batten, is: 12' 10-13/16\", note: \"%s\"}\n", name, note);
        fprintf(out, "    - {at: TP1, fs: 10' 10-11/16\", bs: 10' 10-13/16\", note: \"%s\"}\n    - {at: BM1, fs: 12' 0-1/16\"}\n", note);
        assert_int_equal(fclose(out), 0);
        on_both_papers(file);
        assert_int_equal(unlink(file), 0);
    }
}

/* Two rows that share a scale keep that of a page of their own, whatever was tried on what was left of the page before. */
static void
ground_keeps_its_heights(void **state)
{
    static const char *const papers[] = { "a4", "letter" };
    struct drawn_page page[PAGES_MOST];
    (void)state;
    for (int i = 0; i < 2; i++) {
        size_t found = 0;
        empty_folder();
        struct ran r = RUN("sheet", "--show", "profile", "--paper", papers[i], "-o", in_folder("page.svg"), "surveys/fernhill.yaml");
        assert_int_equal(r.status, 0);
        ran_release(&r);
        size_t n = read_pages(page);
        for (size_t k = 0; k < n; k++) {
            for (const char *at = page[k].svg; (at = strstr(at, "3 in = 1 ft up: heights 12 times; datum 100.9 ft</text>")) != NULL; at++)
                found++;
            drawn_release(&page[k]);
        }
        assert_int_equal(found, 2); /* G1 to G3, and G4 to G6 */
    }
}

/* What is not to be trusted is red and bold, at the head and at each mark; and a mark that cannot be told says what to read. */
static void
warnings_are_seen(void **state)
{
    static const char *const record = "---\njob: Pen\nunit: m\nleast: 0.001\nsigma: 0.005\nallow: {misclosure: 2 mm, per: job}\n---\nmarks: {BM1: {elevation: 50}}\n"
        "---\ngrade: {name: g, means: finish, level: 50.5, tolerance: 3 mm}\n---\nlevels:\n  readings:\n    - {at: BM1, bs: 1.500}\n"
        "    - {at: A, on: batten, is: %s}\n    - {at: BM1, fs: %s}\n";
    char file[] = "/tmp/rodbook-warns-XXXXXX";
    struct drawn_page page[PAGES_MOST];
    int fd = mkstemp(file);
    (void)state;
    assert_true(fd >= 0);
    for (int outside = 0; outside < 2; outside++) {
        assert_int_equal(ftruncate(fd, 0), 0);
        assert_int_equal(lseek(fd, 0, SEEK_SET), 0);
        assert_true(dprintf(fd, record, outside ? "0.990" : "0.997", outside ? "1.510" : "1.500") > 0);
        empty_folder();
        struct ran r = RUN("sheet", "--show", "stakes", "-o", in_folder("page.svg"), file);
        assert_int_equal(r.status, outside);
        ran_release(&r);
        size_t n = read_pages(page);
        assert_int_equal(n, 1);
        assert_int_equal(strstr(page[0].svg, "font-weight=\"bold\" fill=\"#9c002e\">loop BM1 to BM1") != NULL, outside);
        assert_int_equal(strstr(page[0].svg, "font-weight=\"bold\" fill=\"#9c002e\">levels OUTSIDE their limit") != NULL, outside);
        assert_int_equal(strstr(page[0].svg, ">Can&#39;t tell, read again: 1 of 1</text>") != NULL, !outside);
        assert_int_equal(strstr(page[0].svg, ">What helps most: ") != NULL, !outside);
        drawn_release(&page[0]);
    }
    close(fd);
    assert_int_equal(unlink(file), 0);
}

static char *
bytes_of(const char *name, size_t *n)
{
    struct stat s;
    FILE *f = fopen(in_folder(name), "rb");
    assert_non_null(f);
    assert_int_equal(fstat(fileno(f), &s), 0);
    char *bytes = malloc((size_t)s.st_size + 1);
    assert_non_null(bytes);
    *n = fread(bytes, 1, (size_t)s.st_size, f);
    assert_int_equal(*n, s.st_size);
    fclose(f);
    return bytes;
}

/* Twice, at another time and elsewhere in the year: no clock is in it. */
static void
same_record_same_bytes(void **state)
{
    static const char *const forms[] = { "page.pdf", "page.svg", "page.png" };
    (void)state;
    for (size_t i = 0; i < 3; i++) {
        size_t first, second;
        empty_folder();
        struct ran r = RUN("sheet", "--show", "square", "-o", in_folder(forms[i]), "surveys/mill-lane.yaml");
        if (r.status == 2 && strstr(r.err, "is not on this machine"))
            skip();
        assert_int_equal(r.status, 0);
        ran_release(&r);
        char *a = bytes_of(forms[i], &first);
        sleep(i == 0 ? 2 : 0); /* a PDF's dates count seconds */
        r = RUN("sheet", "--show", "square", "-o", in_folder(forms[i]), "surveys/mill-lane.yaml");
        ran_release(&r);
        char *b = bytes_of(forms[i], &second);
        assert_int_equal(first, second);
        assert_memory_equal(a, b, first);
        free(a);
        free(b);
    }
}

static bool
have(const char *tool)
{
    char line[128];
    snprintf(line, sizeof line, "command -v %s >/dev/null", tool);
    return system(line) == 0; // NOLINT(cert-env33-c): names of our own
}

/* What other programs make of a PDF: sound, its fonts in it, its text found. */
static void
others_read_the_pdf(void **state)
{
    char line[512];
    (void)state;
    if (!have("qpdf") || !have("pdffonts") || !have("pdftotext"))
        skip();
    empty_folder();
    struct ran r = RUN("sheet", "-o", in_folder("page.pdf"), "surveys/fernhill.yaml");
    assert_string_equal(r.err, "");
    assert_int_equal(r.status, 0);
    ran_release(&r);
    snprintf(line, sizeof line, "qpdf --check %s >/dev/null", in_folder("page.pdf"));
    assert_int_equal(system(line), 0); // NOLINT(cert-env33-c)
    snprintf(line, sizeof line, "pdffonts %s | awk 'NR > 2 && $(NF - 4) != \"yes\" { bad = 1 } NR > 2 { n++ } END { exit bad || n == 0 }'",
        in_folder("page.pdf"));
    assert_int_equal(system(line), 0); // NOLINT(cert-env33-c)
    static const char *const words[] = { "Fernhill growing house", "SE2", "up 3/8 in", "down 1-1/8 in", "Field book", "page 1 of" };
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        snprintf(line, sizeof line, "pdftotext -layout %s - | grep -qF '%s'", in_folder("page.pdf"), words[i]);
        if (system(line) != 0) // NOLINT(cert-env33-c)
            fail_msg("\"%s\" is not found in the PDF", words[i]);
    }
}

/* Where everything stands on the demo jobs' sheets. `make golden` writes it anew; look at the pages before it is kept. */
static void
demo_sheets_stand_as_they_did(void **state)
{
    static const char *const surveys[] = { "fernhill", "mill-lane", "quay-nursery" };
    (void)state;
    for (size_t s = 0; s < 3; s++) {
        char survey[128], golden[128];
        struct drawn_page page[PAGES_MOST];
        snprintf(survey, sizeof survey, "surveys/%s.yaml", surveys[s]);
        snprintf(golden, sizeof golden, "tests/sheet/golden/%s-sheet.txt", surveys[s]);
        empty_folder();
        struct ran r = RUN("sheet", "-o", in_folder("page.svg"), survey);
        assert_int_equal(r.status, 0);
        ran_release(&r);
        FILE *f = fopen(golden, "rb");
        if (!f)
            fail_msg("%s is not there; make golden", golden);
        char *want = ran_text(f), *next = want;
        size_t n = read_pages(page), line = 1;
        for (size_t i = 0; i < n; i++) {
            for (const char *at = page[i].svg; (at = strstr(at, "<text ")) != NULL; at++, line++) {
                size_t bytes = strcspn(at, "\n"), given = strcspn(next, "\n");
                if (bytes != given || strncmp(at, next, bytes) != 0)
                    fail_msg("%s line %zu:\n  got  %.*s\n  want %.*s", golden, line, (int)bytes, at, (int)given, next);
                next += given + (next[given] == '\n');
            }
            drawn_release(&page[i]);
        }
        assert_string_equal(next, "");
        free(want);
    }
}

static void
says_what_is_wrong(void **state)
{
    (void)state;
    struct ran r = RUN("sheet", "surveys/fernhill.yaml");
    assert_int_equal(r.status, 2);
    assert_non_null(strstr(r.err, "-o wants a file whose name ends in"));
    ran_release(&r);
    r = RUN("sheet", "-o", in_folder("x.pdf"), "--show", "stakes,tea", "surveys/fernhill.yaml");
    assert_int_equal(r.status, 2);
    assert_non_null(strstr(r.err, "is no sheet; write of these"));
    ran_release(&r);
    r = RUN("sheet", "-o", "/no/such/folder/x.svg", "surveys/fernhill.yaml");
    assert_int_equal(r.status, 2);
    assert_non_null(strstr(r.err, "/no/such/folder/x"));
    ran_release(&r);
    r = RUN("sheet", "-o", in_folder("x.svg"), "--paper", "a3", "surveys/fernhill.yaml");
    assert_int_equal(r.status, 2);
    assert_non_null(strstr(r.err, "--paper wants a4 or letter"));
    ran_release(&r);
}

/* What is in the way stays; and a result that cannot be written leaves the one before. */
static void
leaves_whole_files_only(void **state)
{
    (void)state;
    empty_folder();
    FILE *f = fopen(in_folder("x.svg.tmp"), "w");
    assert_non_null(f);
    fputs("someone's", f);
    fclose(f);
    struct ran r = RUN("sheet", "--show", "square", "-o", in_folder("x.svg"), "surveys/mill-lane.yaml");
    assert_int_equal(r.status, 2);
    assert_non_null(strstr(r.err, "is in the way"));
    ran_release(&r);
    struct stat s;
    assert_int_equal(stat(in_folder("x.svg.tmp"), &s), 0);
    assert_int_equal(s.st_size, 9);
    assert_int_equal(stat(in_folder("x.svg"), &s), -1);
}

/* Where the record says them; and the instrument is no point that any other sheet would list. */
static void
north_and_set_ups(void **state)
{
    static const char *const commands[] = { "stakes", "posts", "grade", "pad" };
    static const char *const words[] = { ">N</text>", ">set-up 16.1</text>", ">set-up 16.2</text>", "lines of sight from set-up 16.1" };
    (void)state;
    empty_folder();
    struct ran r = RUN("sheet", "--show", "plan", "-o", in_folder("page.svg"), "surveys/fernhill.yaml");
    assert_int_equal(r.status, 0);
    ran_release(&r);
    struct drawn_page page[PAGES_MOST];
    size_t n = read_pages(page);
    assert_int_equal(n, 2);
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (!strstr(page[0].svg, words[i]))
            fail_msg("the plan lacks %s", words[i]);
    for (size_t i = 0; i < n; i++)
        drawn_release(&page[i]);
    for (size_t i = 0; i < sizeof commands / sizeof commands[0]; i++) {
        r = RUN(commands[i], "--json", "surveys/fernhill.yaml");
        if (!r.out[0] || strstr(r.out, "\"set-up "))
            fail_msg("%s lists an instrument, or nothing: %s", commands[i], r.err);
        ran_release(&r);
    }
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(demo_jobs_are_clear),
        cmocka_unit_test(stake_pages_say_what_they_are),
        cmocka_unit_test(short_sheets_share_pages),
        cmocka_unit_test(closures_stand_in_one_sheet),
        cmocka_unit_test(no_page_for_two_rows),
        cmocka_unit_test(no_page_for_two_marks),
        cmocka_unit_test(tables_go_on_under_a_heading),
        cmocka_unit_test(pages_speak_no_commands),
        cmocka_unit_test(heads_say_what_holds),
        cmocka_unit_test(stake_rows_are_roomy),
        cmocka_unit_test(stake_rows_say_what_is_read),
        cmocka_unit_test(stake_sheets_name_their_set_ups),
        cmocka_unit_test(two_hundred_marks_are_clear),
        cmocka_unit_test(names_come_out_literally),
        cmocka_unit_test(wide_tables_stay_on_the_page),
        cmocka_unit_test(ground_keeps_its_heights),
        cmocka_unit_test(warnings_are_seen),
        cmocka_unit_test(same_record_same_bytes),
        cmocka_unit_test(others_read_the_pdf),
        cmocka_unit_test(north_and_set_ups),
        cmocka_unit_test(demo_sheets_stand_as_they_did),
        cmocka_unit_test(says_what_is_wrong),
        cmocka_unit_test(leaves_whole_files_only),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
