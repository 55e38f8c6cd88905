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

/* The value of a lower-case digit, plus 1; 0 for any other byte. A table: a record has a digest in every entry. */
static const unsigned char value_and_1[256] = { ['0'] = 1, ['1'] = 2, ['2'] = 3, ['3'] = 4, ['4'] = 5, ['5'] = 6, ['6'] = 7,
    ['7'] = 8, ['8'] = 9, ['9'] = 10, ['a'] = 11, ['b'] = 12, ['c'] = 13, ['d'] = 14, ['e'] = 15, ['f'] = 16 };

bool
digest_from_hex(unsigned char *out, const char *text, size_t n)
{
    bool bad = false;
    for (size_t i = 0; i < n; i++) {
        unsigned high = value_and_1[(unsigned char)text[2 * i]], low = value_and_1[(unsigned char)text[2 * i + 1]];
        bad |= high == 0 || low == 0;
        out[i] = (unsigned char)((high - 1) << 4 | ((low - 1) & 15));
    }
    return !bad;
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
        char c = *text;
        if (c >= 'A' && c <= 'F')
            c = (char)(c - 'A' + 'a');
        if (strchr(" -.", c))
            continue;
        if (value_and_1[(unsigned char)c] == 0 || n == DIGEST_HEX)
            return 0;
        digits[n++] = c;
    }
    digits[n] = '\0';
    return n >= DIGEST_LEAST_HEX ? n : 0;
}
