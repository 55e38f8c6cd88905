/* sealed.h - records as text with their digests put right */
#ifndef TESTS_SEALED_H
#define TESTS_SEALED_H

#include "near.h"

#include "rodbook/digest.h"

#include <stdlib.h>
#include <string.h>

/* A copy of the text with every line that begins "digest: " given the digest of what stands above it; free() it. */
static inline char *
sealed(const char *text)
{
    char *out = malloc(2 * strlen(text) + 1), *p = out;
    struct digest hash;
    assert_non_null(out);
    digest_begin(&hash);
    while (*text) {
        const char *lf = strchr(text, '\n');
        size_t n = lf ? (size_t)(lf - text) + 1 : strlen(text);
        char *line = p;
        if (strncmp(text, "digest: ", 8) == 0) {
            unsigned char now[DIGEST_BYTES];
            digest_now(&hash, now);
            p = stpcpy(p, "digest: ");
            digest_hex(p, now, DIGEST_BYTES);
            p = stpcpy(p + DIGEST_HEX, "\n");
        } else {
            memcpy(p, text, n);
            p += n;
        }
        digest_take(&hash, line, (size_t)(p - line));
        text += n;
    }
    *p = '\0';
    return out;
}

#endif
