/* drawn.h - a page of SVG as the program writes it, taken apart into its texts and where they stand */
#ifndef TESTS_DRAWN_H
#define TESTS_DRAWN_H

#include "program.h"

struct drawn_text {
    double left, top, right, bottom; /* of its letters, from cap height to a little below the base line */
    double size;
    char words[512]; /* escapes undone */
};

struct drawn_page {
    double width, height;
    struct drawn_text *text;
    size_t texts;
    char *svg;
};

static inline double
drawn_number(const char *line, const char *name)
{
    char key[32];
    snprintf(key, sizeof key, " %s=\"", name);
    const char *at = strstr(line, key);
    return at ? strtod(at + strlen(key), NULL) : NAN;
}

static inline void
drawn_words(char out[512], const char *text, const char *end)
{
    static const struct {
        const char *escape;
        char letter;
    } escapes[] = { { "&amp;", '&' }, { "&lt;", '<' }, { "&gt;", '>' }, { "&quot;", '"' }, { "&#39;", '\'' } };
    size_t n = 0;
    while (text < end && n < 511) {
        size_t skip = 1;
        out[n] = *text;
        for (size_t i = 0; i < 5; i++)
            if (strncmp(text, escapes[i].escape, strlen(escapes[i].escape)) == 0) {
                out[n] = escapes[i].letter;
                skip = strlen(escapes[i].escape);
            }
        n++;
        text += skip;
    }
    out[n] = '\0';
}

/* Where the letters of a text stand: a text that is turned takes a box turned with it, by quarters. */
static inline struct drawn_text
drawn_text_of(const char *svg)
{
    char line[2048];
    snprintf(line, sizeof line, "%.*s", (int)strcspn(svg, "\n"), svg);
    struct drawn_text t = { .size = drawn_number(line, "font-size") };
    double x = drawn_number(line, "x"), y = drawn_number(line, "y"), w = drawn_number(line, "textLength");
    double before = strstr(line, "text-anchor=\"middle\"") ? w / 2 : strstr(line, "text-anchor=\"end\"") ? w : 0;
    const char *turned = strstr(line, "rotate("), *from = strchr(line, '>') + 1;
    double up = 0.729 * t.size, down = 0.15 * t.size; /* cap height of DejaVu Sans; most descenders of signs and letters */
    drawn_words(t.words, from, strstr(from, "</text>"));
    t.left = x - before, t.right = x - before + w, t.top = y - up, t.bottom = y + down;
    if (turned && strtod(turned + 7, NULL) == -90)
        t.left = x - up, t.right = x + down, t.top = y + before - w, t.bottom = y + before;
    else if (turned)
        assert_near(strtod(turned + 7, NULL), 0, 0); /* no other turn is known here */
    return t;
}

static inline struct drawn_page
drawn_read(const char *file)
{
    struct drawn_page p = { 0 };
    FILE *f = fopen(file, "rb");
    if (!f)
        fail_msg("%s is not there", file);
    p.svg = ran_text(f);
    const char *box = strstr(p.svg, "viewBox=\"0 0 ");
    assert_non_null(box);
    char *end;
    p.width = strtod(box + strlen("viewBox=\"0 0 "), &end);
    p.height = strtod(end, NULL);
    size_t most = 0;
    for (const char *at = p.svg; (at = strstr(at, "<text ")) != NULL; at++)
        most++;
    p.text = calloc(most + 1, sizeof *p.text);
    assert_non_null(p.text);
    for (const char *at = p.svg; (at = strstr(at, "<text ")) != NULL; at++)
        p.text[p.texts++] = drawn_text_of(at);
    return p;
}

static inline void
drawn_release(struct drawn_page *p)
{
    free(p->text);
    free(p->svg);
}

static inline const struct drawn_text *
drawn_find(const struct drawn_page *p, const char *words)
{
    for (size_t i = 0; i < p->texts; i++)
        if (strcmp(p->text[i].words, words) == 0)
            return &p->text[i];
    return NULL;
}

/* Every text is on the page and over no other. */
static inline void
drawn_is_clear(const struct drawn_page *p, const char *file)
{
    for (size_t i = 0; i < p->texts; i++) {
        const struct drawn_text *a = &p->text[i];
        if (!(a->left >= 12 && a->top >= 12 && a->right <= p->width - 12 && a->bottom <= p->height - 12))
            fail_msg("%s: \"%s\" leaves the page: %.1f %.1f to %.1f %.1f", file, a->words, a->left, a->top, a->right, a->bottom);
        for (size_t k = i + 1; k < p->texts; k++) {
            const struct drawn_text *b = &p->text[k];
            if (a->left < b->right - 0.05 && b->left < a->right - 0.05 && a->top < b->bottom - 0.05 && b->top < a->bottom - 0.05)
                fail_msg("%s: \"%s\" stands over \"%s\" at %.1f %.1f", file, a->words, b->words, b->left, b->top);
        }
    }
}

#endif
