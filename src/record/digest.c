#include "rodbook/digest.h"

#include <string.h>

static const char digits_of_hex[] = "0123456789abcdef";

void
digest_begin(struct digest *d)
{
    (void)crypto_hash_sha256_init(&d->state);
}

void
digest_take(struct digest *d, const void *bytes, size_t n)
{
    (void)crypto_hash_sha256_update(&d->state, bytes, n);
}

void
digest_now(const struct digest *d, unsigned char out[DIGEST_BYTES])
{
    crypto_hash_sha256_state copy = d->state;
    (void)crypto_hash_sha256_final(&copy, out);
}

void
digest_hex(char *out, const unsigned char *bytes, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        *out++ = digits_of_hex[bytes[i] >> 4];
        *out++ = digits_of_hex[bytes[i] & 15];
    }
    *out = '\0';
}

/* The value of a lower-case digit, or -1. */
static int
value_of(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

bool
digest_from_hex(unsigned char *out, const char *text, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        int high = value_of(text[2 * i]), low = high < 0 ? -1 : value_of(text[2 * i + 1]);
        if (low < 0)
            return false;
        out[i] = (unsigned char)(high << 4 | low);
    }
    return true;
}

void
digest_short(char out[DIGEST_SHORT_TEXT], const unsigned char digest[DIGEST_BYTES])
{
    for (size_t group = 0; group < DIGEST_SHORT_HEX / 4; group++) {
        digest_hex(out, digest + 2 * group, 2);
        out[4] = ' ';
        out += 5;
    }
    out[-1] = '\0';
}

size_t
digest_from_paper(char digits[DIGEST_HEX + 1], const char *text)
{
    size_t n = 0, number = strspn(text, "0123456789");
    if (number > 0 && text[number] == ':')
        text += number + 1; /* the entry's number, as it stands before the short form */
    for (; *text; text++) {
        char c = (char)(*text >= 'A' && *text <= 'F' ? *text - 'A' + 'a' : *text);
        if (strchr(" -.", c))
            continue;
        if (value_of(c) < 0 || n == DIGEST_HEX)
            return 0;
        digits[n++] = c;
    }
    digits[n] = '\0';
    return n >= DIGEST_LEAST_HEX ? n : 0;
}
