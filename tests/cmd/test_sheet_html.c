/* test_sheet_html.c - the HTML sheets as bytes: well-formed, literal, labelled, the same each time; tests/html looks at them in a browser */
#include "../demo.h"
#include "../markup.h"
#include "../program.h"

#include <sodium.h>
#include <sys/stat.h>

#define COUNT(list) (sizeof(list) / sizeof *(list))

static char folder[] = "/tmp/rodbook-html-XXXXXX";

static const char *
in_folder(const char *name)
{
    static char path[4][256];
    static int which;
    which = (which + 1) % 4;
    snprintf(path[which], sizeof path[which], "%s/%s", folder, name);
    return path[which];
}

static int
make_folder(void **state)
{
    (void)state;
    return mkdtemp(folder) ? 0 : -1;
}

static int
remove_folder(void **state)
{
    (void)state;
    (void)unlink(in_folder("page.html"));
    (void)unlink(in_folder("page.svg"));
    (void)unlink(in_folder("job.yaml"));
    return rmdir(folder);
}

static char *
read_file(const char *name)
{
    FILE *f = fopen(name, "rb");
    if (!f)
        fail_msg("%s is not there", name);
    return ran_text(f);
}

/* The page of a record, with whatever is asked for beside it; its bytes, to be freed. */
static char *
page_of(const char *record, int status, const char *option, const char *value)
{
    struct ran r = option ? RUN("sheet", option, value, "-o", in_folder("page.html"), record) : RUN("sheet", "-o", in_folder("page.html"), record);
    if (r.status != status)
        fail_msg("%s: status %d, want %d: %s", record, r.status, status, r.err);
    ran_release(&r);
    return read_file(in_folder("page.html"));
}

static const char *
write_record(const char *text)
{
    FILE *f = fopen(in_folder("job.yaml"), "w");
    assert_non_null(f);
    fputs(text, f);
    assert_int_equal(fclose(f), 0);
    return in_folder("job.yaml");
}

static const char *const records[] = { "surveys/fernhill.yaml", "surveys/mill-lane.yaml", "surveys/quay-nursery.yaml", "tests/html/hostile.yaml" };

/* ---- the whole page ---- */

static size_t
find(const struct markup *m, const char *name, const char *attribute, const char *value)
{
    for (size_t i = 0; i < m->elements; i++)
        if (markup_is(m, i, name) && (!attribute || markup_has(m, i, attribute, value)))
            return i;
    fail_msg("no <%s %s=\"%s\">", name, attribute ? attribute : "", value ? value : "");
    return MARKUP_NONE;
}

/* The policy names the style sheet by its digest, and lets nothing else in. */
static void
policy_holds(const struct markup *m)
{
    unsigned char digest[crypto_hash_sha256_BYTES];
    char base64[64], want[256];
    char *style = markup_text(m, find(m, "style", NULL, NULL));
    crypto_hash_sha256(digest, (const unsigned char *)style, strlen(style));
    sodium_bin2base64(base64, sizeof base64, digest, sizeof digest, sodium_base64_VARIANT_ORIGINAL);
    snprintf(want, sizeof want, "default-src 'none'; style-src 'sha256-%s'; base-uri 'none'; form-action 'none'", base64);
    assert_string_equal(markup_value(m, find(m, "meta", "http-equiv", "Content-Security-Policy"), "content"), want);
    if (strpbrk(style, "<&") || strstr(style, "url(") || strstr(style, "@import"))
        fail_msg("the style sheet fetches, or ends early");
    free(style);
}

static void
page_is_whole(const struct markup *m)
{
    static const char *const once[] = { "html", "head", "title", "style", "body", "header", "h1", "nav", "main", "footer" };
    for (size_t k = 0; k < COUNT(once); k++) {
        size_t first = find(m, once[k], NULL, NULL);
        if (markup_find(m, first + 1, once[k]) != MARKUP_NONE && strcmp(once[k], "title") != 0) /* SVG has titles of its own */
            fail_msg("<%s> stands twice", once[k]);
    }
    assert_true(markup_has(m, 0, "lang", "en"));
    assert_true(markup_has(m, find(m, "meta", "name", "viewport"), "content", "width=device-width, initial-scale=1"));
    assert_true(markup_has(m, find(m, "a", "class", "skip"), "href", "#main"));
    (void)find(m, "main", "id", "main");
}

/* What stands in a page is of these, and an attribute acts in none of them. */
static void
nothing_acts(const struct markup *m)
{
    static const char *const ours[] = { "html", "head", "meta", "title", "style", "body", "a", "svg", "symbol", "use", "path", "circle", "text", "g",
        "desc", "header", "h1", "h2", "h3", "h4", "p", "nav", "ul", "li", "main", "section", "table", "caption", "colgroup", "col", "thead", "tbody", "tr", "th", "td", "div",
        "span", "strong", "s", "i", "bdi", "label", "input", "figure", "figcaption", "footer" };
    for (size_t i = 0; i < m->elements; i++) {
        const struct markup_element *e = &m->element[i];
        size_t k = 0;
        while (k < COUNT(ours) && strcmp(e->name, ours[k]) != 0)
            k++;
        if (k == COUNT(ours))
            fail_msg("<%s> is none of ours", e->name);
        for (k = 0; k < e->attributes; k++)
            if (strncmp(e->attribute[k], "on", 2) == 0 || strcmp(e->attribute[k], "style") == 0 || strcmp(e->attribute[k], "src") == 0
                || (strcmp(e->attribute[k], "href") == 0 && e->value[k][0] != '#'))
                fail_msg("%s=\"%s\" of <%s>", e->attribute[k], e->value[k], e->name);
    }
}

/* Each name that one element calls another by stands once. */
static void
names_lead_somewhere(const struct markup *m)
{
    static const char *const by[] = { "aria-labelledby", "aria-describedby", "href" };
    for (size_t i = 0; i < m->elements; i++) {
        const char *id = markup_value(m, i, "id");
        for (size_t k = i + 1; id && k < m->elements; k++)
            if (markup_has(m, k, "id", id))
                fail_msg("id %s stands twice", id);
        for (size_t b = 0; b < COUNT(by); b++) {
            const char *to = markup_value(m, i, by[b]);
            bool found = !to;
            for (size_t k = 0; !found && k < m->elements; k++)
                found = markup_has(m, k, "id", to + (*to == '#'));
            if (!found)
                fail_msg("%s %s leads nowhere", by[b], to);
        }
    }
}

static size_t
children(const struct markup *m, size_t of, const char *name)
{
    size_t n = 0;
    for (size_t i = of + 1; i < m->elements && markup_within(m, i, of); i++)
        n += m->element[i].parent == of && (!name || markup_is(m, i, name));
    return n;
}

/* A caption, a heading a column, rows that begin with what they are about and are as long. */
static void
tables_are_headed(const struct markup *m)
{
    size_t tables = 0, columns = 0;
    for (size_t i = 0; i < m->elements; i++) {
        if (markup_is(m, i, "table")) {
            char *caption = markup_text(m, i + 1);
            assert_true(markup_is(m, i + 1, "caption") && caption[0]);
            free(caption);
            size_t row = markup_find(m, i, "tr");
            row = markup_has(m, row, "class", "again") ? markup_find(m, row + 1, "tr") : row;
            columns = children(m, row, "th");
            assert_int_equal(children(m, row, NULL), columns);
            tables++;
        }
        if (!markup_is(m, i, "tr") || markup_has(m, i, "class", "again"))
            continue;
        bool heads = markup_is(m, m->element[i].parent, "thead");
        assert_int_equal(children(m, i, NULL), columns);
        assert_true(markup_is(m, i + 1, "th") && markup_has(m, i + 1, "scope", heads ? "col" : "row"));
    }
    assert_true(tables > 2);
}

static void
pages_are_well_formed(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(records); i++) {
        char *page = page_of(records[i], 0, NULL, NULL);
        struct markup m = markup_read(page);
        page_is_whole(&m);
        policy_holds(&m);
        nothing_acts(&m);
        names_lead_somewhere(&m);
        tables_are_headed(&m);
        markup_release(&m);
        free(page);
    }
}

/* ---- what a record says ---- */

static void
assert_holds(const char *all, const char *text)
{
    if (!strstr(all, text))
        fail_msg("not found: %s", text);
}

static bool
keeps_apart(const struct markup *m, size_t i)
{
    return markup_is(m, i, "bdi") || markup_is(m, i, "i");
}

static bool
is_in(const struct markup *m, size_t i, const char *name)
{
    while (i != MARKUP_NONE && !markup_is(m, i, name))
        i = m->element[i].parent;
    return i != MARKUP_NONE;
}

static bool
is_of_drawings(const struct markup *m, size_t i)
{
    while (i != MARKUP_NONE && !markup_is(m, i, "figure") && !markup_has(m, i, "class", "parts drawings"))
        i = m->element[i].parent;
    return i != MARKUP_NONE;
}

/* Drawings differ, too, and so do their pages and the list of them: labels stand where they have room. nothing_acts() looks into them. */
static size_t
next_fixed(const struct markup *m, size_t i)
{
    while (i < m->elements && (keeps_apart(m, i) || is_of_drawings(m, i)))
        i++;
    return i;
}

/* A table's class says how wide it is, by one of four words, and longer texts make it wider; nothing else of a value may differ. */
static void
values_are_twins(const char *a, const char *b)
{
    static const char *const widths[] = { "flow narrow", "flow middle", "flow broad", "flow wide" };
    bool known[2] = { false, false };
    for (size_t i = 0; i < COUNT(widths); i++) {
        known[0] |= strcmp(a, widths[i]) == 0;
        known[1] |= strcmp(b, widths[i]) == 0;
    }
    if (!known[0] || !known[1])
        assert_string_equal(a, b);
}

/* The twins differ in nothing but texts: whatever a text holds, it makes no element and no attribute. */
static void
hostile_texts_are_texts(void **state)
{
    char *page[2] = { page_of("tests/html/hostile.yaml", 0, NULL, NULL), NULL }, *texts = read_file("tests/html/hostile.txt");
    (void)state;
    page[1] = page_of("tests/html/plain.yaml", 0, NULL, NULL);
    struct markup m[2] = { markup_read(page[0]), markup_read(page[1]) };
    size_t a = 0, b = 0;
    for (;; a++, b++) {
        a = next_fixed(&m[0], a);
        b = next_fixed(&m[1], b);
        if (a == m[0].elements || b == m[1].elements)
            break;
        assert_string_equal(m[0].element[a].name, m[1].element[b].name);
        assert_int_equal(m[0].element[a].attributes, m[1].element[b].attributes);
        for (size_t k = 0; k < m[0].element[a].attributes; k++)
            if (strcmp(m[0].element[a].attribute[k], "content") != 0) /* the policy: the job's name stands in the style sheet */
                values_are_twins(m[0].element[a].value[k], m[1].element[b].value[k]);
    }
    assert_true(a == m[0].elements && b == m[1].elements);
    size_t n = 0;
    for (char *line = strtok(texts, "\n"); line; line = strtok(NULL, "\n"), n++)
        assert_holds(m[0].text, line);
    assert_int_equal(n, 19);
    for (int i = 0; i < 2; i++) {
        markup_release(&m[i]);
        free(page[i]);
    }
    free(texts);
}

/* What is written from right to left turns nothing beside it. */
static void
right_to_left_stands_apart(void **state)
{
    char *page = page_of("tests/html/hostile.yaml", 0, NULL, NULL);
    (void)state;
    assert_holds(page, "<bdi>\xd7\xa4\xd7\x99\xd7\xa0\xd7\x94 \xd7\xa6\xd7\xa4\xd7\x95\xd7\xa0\xd7\x99\xd7\xaa 3</bdi>"); /* a name as a whole */
    assert_holds(page, "<bdi>\xd7\x90\xd7\x91\xd7\x9f, \xd7\x9c\xd7\x99\xd7\x93 \xd7\x94\xd7\xa9\xd7\xa2\xd7\xa8</bdi> &amp; &lt; &gt;"); /* words of a note */
    free(page);
}

/* The innermost element that a byte of the text stands in. */
static size_t
element_of(const struct markup *m, size_t byte)
{
    size_t inner = 0;
    for (size_t i = 0; i < m->elements; i++)
        if (m->element[i].begin <= byte && byte < m->element[i].end)
            inner = i;
    return inner;
}

/* 13/16 alone on a line would be misread: where lines are broken, no hyphen stands between digits but in <i>. */
static void
figures_stay_on_one_line(void **state)
{
    char *page = page_of("surveys/mill-lane.yaml", 0, NULL, NULL);
    struct markup m = markup_read(page);
    size_t seen = 0;
    (void)state;
    assert_holds(page, "sum rise <i>11&#39; 2-1/16&quot;</i> - sum fall <i>10&#39; 4-13/16&quot;</i> = <i>+9-1/4&quot;</i>");
    for (size_t k = m.element[find(&m, "body", NULL, NULL)].begin; k + 1 < m.used; k++) {
        if (m.text[k] != '-' || !strchr("0123456789", m.text[k - 1]) || !strchr("0123456789", m.text[k + 1]))
            continue;
        size_t i = element_of(&m, k);
        if (element_of(&m, k - 1) != i || element_of(&m, k + 1) != i)
            continue; /* a dash that is a cell of its own */
        if (!markup_is(&m, i, "i") && !markup_has(&m, i, "class", "n") && !is_in(&m, i, "svg"))
            fail_msg("<%s> may break \"%.20s\"", m.element[i].name, m.text + k - 4);
        seen += markup_is(&m, i, "i");
    }
    assert_true(seen > 50);
    markup_release(&m);
    free(page);
}

static bool
is_in_section(const struct markup *m, size_t i, const char *id)
{
    return markup_within(m, i, find(m, "section", "id", id));
}

/* A number and its unit, feet and inches, a slope, and which way it goes, are one piece each. */
static void
figures_keep_their_units(void **state)
{
    static const char *const whole[] = { "<i>9 ft 4-1/2 in</i>", "<i>90 deg 02.2 min</i>", "<i>long 1/8 in</i>", "<i>high 1-1/8 in</i>", "<i>+- 1/16 in</i>",
        "<i>121.33 ft3</i>", "<i>1.35 short ton/yd3</i>", "<i>under 1/4 in</i>" };
    char *page = page_of("surveys/fernhill.yaml", 0, NULL, NULL);
    (void)state;
    for (size_t i = 0; i < COUNT(whole); i++)
        assert_holds(page, whole[i]);
    free(page);
    page = page_of("surveys/quay-nursery.yaml", 0, NULL, NULL);
    assert_holds(page, "falling <i>1 in 120</i> towards");
    assert_holds(page, "<i>7 mm</i> over <i>1.2 m</i>");
    free(page);
}

/* Where the screen is too narrow for a table, its rows are cards, and each value has its label. */
static void
cells_have_labels(void **state)
{
    char *page = page_of("surveys/fernhill.yaml", 0, NULL, NULL);
    struct markup m = markup_read(page);
    size_t cells = 0;
    (void)state;
    assert_holds(page, "<table role=\"table\" class=\"flow wide\">\n<caption>Run of <i>entry 5</i>, by height of instrument</caption>");
    assert_holds(page, "<td role=\"cell\" class=\"n\" data-label=\"elevation\">101.48</td>");
    for (size_t i = 0; i < m.elements; i++) {
        if (!markup_is(&m, i, "td") || is_in_section(&m, i, "stakes"))
            continue;
        assert_true(markup_has(&m, i, "role", "cell"));
        assert_non_null(markup_value(&m, i, "data-label"));
        cells++;
    }
    assert_true(cells > 500);
    assert_false(strstr(page, "role=\"region\"")); /* the sheets are, and nothing else */
    markup_release(&m);
    free(page);
}

/* Parts of a row stand below it, a result is no heading, and marks that need the same can be jumped to. */
static void
headings_have_ranks(void **state)
{
    char *page = page_of("surveys/fernhill.yaml", 0, NULL, NULL);
    (void)state;
    assert_holds(page, "<h3>Row A, ");
    assert_holds(page, "<h4>Plumb</h4>");
    assert_holds(page, "<h4>To do</h4>");
    assert_holds(page, "<p class=\"result\">10 of 10 holes read: 10 deep enough</p>");
    assert_holds(page, "<p class=\"result\">Stone, <i>4 in</i>: ");
    assert_holds(page, "<h4 id=\"stakes-1\">To move (7)</h4>");
    assert_holds(page, "<a href=\"#stakes-1\">grade string: To move (7)</a>");
    assert_holds(page, "colspan=\"7\">Grade string: To move</th>"); /* again on each page of paper */
    free(page);
}

/* Each drawing is named by what it shows, and the list at the head of its sheet leads there. */
static void
drawings_are_named(void **state)
{
    char *page = page_of("surveys/mill-lane.yaml", 0, NULL, NULL);
    (void)state;
    assert_holds(page, "<li><a href=\"#plan-1\">Grade sill, <i>entry 4</i>: FINISH GRADE <i>(plan, 1 of 2)</i></a></li>");
    assert_holds(page, "<figure id=\"profile-1\">\n<figcaption id=\"profile-1-caption\">B1 to B4: string and posts <i>(profile, 1 of 5)</i></figcaption>");
    assert_holds(page, "<h2 id=\"plan-title\">Plan</h2> <a class=\"back\" href=\"#sheets\">back to the list of sheets</a>");
    free(page);
}

static void
struck_readings_are_said(void **state)
{
    char *page = page_of("surveys/fernhill.yaml", 0, NULL, NULL);
    (void)state;
    assert_holds(page, "<td role=\"cell\" class=\"n\" data-label=\"IS\"><s><span class=\"sr\">struck </span>3.38</s></td>");
    if (strstr(page, "/3.38/"))
        fail_msg("strokes as in a text sheet");
    free(page);
    page = page_of("tests/html/hostile.yaml", 0, NULL, NULL);
    assert_holds(page, ">/struck/ *x* "); /* a remark with strokes is a remark */
    free(page);
}

/* ---- the stake sheet ---- */

static size_t
rows_of_stakes(const struct markup *m)
{
    size_t n = 0, stakes = find(m, "section", "id", "stakes");
    for (size_t i = stakes; i < m->elements; i++) {
        if (!markup_is(m, i, "tr") || !markup_within(m, i, stakes) || markup_is(m, m->element[i].parent, "thead"))
            continue;
        n++;
        assert_true(markup_has(m, i + 1, "class", "mark"));
        size_t field = markup_find(m, i, "input"), box = markup_find(m, field + 1, "input");
        assert_true(markup_has(m, field, "type", "text") && markup_is(m, m->element[field].parent, "label"));
        assert_true(markup_has(m, box, "type", "checkbox") && markup_is(m, m->element[box].parent, "label"));
        assert_true(markup_within(m, field, i) && markup_within(m, box, i));
        char *label = markup_text(m, m->element[box].parent);
        assert_non_null(strstr(label, "done "));
        free(label);
    }
    return n;
}

/* As many as `stakes` finds. */
static size_t
stakes_of(const char *record)
{
    static const char verdict[] = "\"verdict\"";
    size_t n = 0;
    struct ran r = RUN("stakes", "--json", record);
    for (const char *p = r.out; (p = strstr(p, verdict)) != NULL; p += sizeof verdict)
        n++;
    ran_release(&r);
    return n;
}

static void
each_mark_has_its_row(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(records); i++) {
        char *page = page_of(records[i], 0, NULL, NULL);
        struct markup m = markup_read(page);
        size_t n = stakes_of(records[i]);
        assert_true(n > 5);
        assert_int_equal(rows_of_stakes(&m), n);
        markup_release(&m);
        free(page);
    }
}

/* Direction in word and shape; what is to be moved stands first. */
static void
moves_are_said(void **state)
{
    char *page = page_of("tests/html/plain.yaml", 0, NULL, NULL);
    (void)state;
    assert_holds(page, "<td role=\"cell\" class=\"move down\"><svg xmlns=\"http://www.w3.org/2000/svg\" class=\"shape\" aria-hidden=\"true\" focusable=\"false\">"
                       "<use href=\"#shape-down\"/></svg> <strong><i>down 9/16 in</i></strong> <span class=\"more\"><i>+- 1/32 in</i></span></td>");
    assert_holds(page, "<symbol id=\"shape-down\" viewBox=\"0 0 18 18\">\n<path d=\"M9 18L2 10");
    assert_holds(page, "<use href=\"#shape-up\"/></svg> <strong><i>up 3-5/16 in</i></strong>");
    assert_holds(page, "<use href=\"#shape-leave\"/></svg> <strong>leave</strong>");
    assert_holds(page, "<use href=\"#shape-unknown\"/></svg> <strong>read it</strong>");
    assert_true(strstr(page, "To move (6)") < strstr(page, "To leave: on grade within the tolerance (1)"));
    assert_holds(page, "Levels find no buried services");
    free(page);
}

/* ---- the rest ---- */

static void
same_record_same_bytes(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(records); i++) {
        char *a = page_of(records[i], 0, NULL, NULL), *b = page_of(records[i], 0, NULL, NULL);
        assert_string_equal(a, b);
        free(a);
        free(b);
    }
}

static void
paper_is_asked_for(void **state)
{
    char *page = page_of("surveys/fernhill.yaml", 0, "--paper", "letter");
    (void)state;
    assert_holds(page, "@page{size:letter portrait;");
    assert_holds(page, "content:'Fernhill growing house'}");
    free(page);
    page = page_of("tests/html/hostile.yaml", 0, "--landscape", "--spread-anyway");
    assert_holds(page, "@page{size:A4 landscape;");
    assert_holds(page, "content:'\\00003cscript\\00003ealert\\000028\\000022job\\000022\\000029\\00003c\\00002fscript\\00003e "
                       "\\000026 \\000027Co\\000027 \\00005d\\00005d\\00003e'}");
    free(page);
}

static void
only_what_is_asked_for(void **state)
{
    char *page = page_of("surveys/fernhill.yaml", 0, "--show", "book");
    struct markup m = markup_read(page);
    (void)state;
    (void)find(&m, "section", "id", "book");
    assert_int_equal(children(&m, find(&m, "main", NULL, NULL), "section"), 1);
    assert_int_equal(children(&m, find(&m, "ul", NULL, NULL), "li"), 1);
    markup_release(&m);
    free(page);
}

#define BEGUN                                                                                                                              \
    "---\njob: Lamb field\nunit: m\nleast: 0.001\nallow: {misclosure: 4 mm, per: root-setup}\n---\nmarks: {BM1: {elevation: 48.375}}\n"

/* A loop beyond its limit is seen at once; the work was done, and is not good enough. */
static void
what_is_outside_is_seen(void **state)
{
    char *page = page_of(write_record(BEGUN "---\nlevels:\n  readings:\n    - {at: BM1, bs: 1.482}\n    - {at: BM1, fs: 1.502}\n"), 1, NULL, NULL);
    (void)state;
    assert_holds(page, "<p class=\"alert\">loop BM1 to BM1, 1 set-up from 3.1: misclosure <i>-20.00 mm</i>, allowed <i>4.00 mm</i>: OUTSIDE</p>");
    free(page);
}

/* A line that nothing closes, and marks that hang on it, are said at the head of the stake sheet; a warning below a grade, too. */
static void
what_is_unchecked_is_seen(void **state)
{
    char *page = page_of("surveys/quay-nursery.yaml", 0, "--show", "stakes"), *all;
    (void)state;
    assert_holds(page, "<p class=\"alert\">spur TP2 to DRAIN, 1 set-up from 8.1: unchecked, nothing closes it</p>");
    assert_holds(page, "<p class=\"alert\">1 of 16 marks unchecked: a wrong reading on the way to them would not show</p>");
    assert_holds(page, "<td role=\"cell\" class=\"remarks warn\">unchecked");
    free(page);
    all = page_of(write_record(BEGUN "---\nlevels:\n  readings:\n    - {at: BM1, bs: 1.482}\n    - {at: A, is: 1.502}\n"), 0, NULL, NULL);
    assert_holds(all, "<p class=\"alert\">levels: nothing closes them</p>");
    free(all);
}

/* A sealed record, whole; then with one figure changed under its digest. */
static void
what_was_altered_is_seen(void **state)
{
    struct seal_key key = demo_key("crew");
    struct scan_end end;
    struct append_text t = demo_record(DEMO_FIRST_SEAL, &key, 0, &end);
    char *text = strndup(t.bytes, t.n), *page;
    (void)state;
    assert_non_null(text);
    page = page_of(write_record(text), 0, NULL, NULL);
    assert_holds(page, "<p>9 entries, digest 9: ");
    assert_holds(page, "EVERYTHING FITS");
    assert_false(strstr(page, "<p class=\"alert\">"));
    free(page);
    strstr(text, "1.307")[4] = '8';
    page = page_of(write_record(text), 1, NULL, NULL);
    assert_holds(page, "<p class=\"alert\">ALTERED: the digest of <i>entry 4</i> does not fit what stands above it; an audit says more</p>");
    assert_holds(page, "<p class=\"alert\">ALTERED: a signature does not fit what stands above it; an audit says more</p>");
    free(page);
    struct ran r = RUN("sheet", "--show", "record", "-o", in_folder("page.svg"), in_folder("job.yaml"));
    assert_int_equal(r.status, 1);
    page = read_file(in_folder("page.svg")); /* on paper, too: each in a line of its own */
    assert_holds(page, ">ALTERED: the digest of entry 4 does not fit what stands above it; an audit says more</text>");
    assert_holds(page, ">ALTERED: a signature does not fit what stands above it; an audit says more</text>");
    ran_release(&r);
    free(page);
    free(text);
    append_text_release(&t);
}

static void
nothing_is_said_so(void **state)
{
    struct stat s;
    const char *record = write_record(BEGUN);
    (void)unlink(in_folder("page.html"));
    struct ran r = RUN("sheet", "--show", "stakes", "-o", in_folder("page.html"), record);
    (void)state;
    assert_int_equal(r.status, 2);
    assert_string_equal(r.err, "rodbook sheet: the record has nothing for these sheets yet\n  stakes: made from a grade, and marks that it serves\n");
    assert_int_not_equal(stat(in_folder("page.html"), &s), 0);
    assert_int_not_equal(stat(in_folder("page.html.tmp"), &s), 0);
    ran_release(&r);
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pages_are_well_formed),
        cmocka_unit_test(hostile_texts_are_texts),
        cmocka_unit_test(right_to_left_stands_apart),
        cmocka_unit_test(figures_stay_on_one_line),
        cmocka_unit_test(figures_keep_their_units),
        cmocka_unit_test(cells_have_labels),
        cmocka_unit_test(headings_have_ranks),
        cmocka_unit_test(drawings_are_named),
        cmocka_unit_test(struck_readings_are_said),
        cmocka_unit_test(each_mark_has_its_row),
        cmocka_unit_test(moves_are_said),
        cmocka_unit_test(same_record_same_bytes),
        cmocka_unit_test(paper_is_asked_for),
        cmocka_unit_test(only_what_is_asked_for),
        cmocka_unit_test(what_is_outside_is_seen),
        cmocka_unit_test(what_is_unchecked_is_seen),
        cmocka_unit_test(what_was_altered_is_seen),
        cmocka_unit_test(nothing_is_said_so),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
