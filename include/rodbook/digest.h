/*
 * digest.h - SHA-256 of a record's bytes, and how it is written
 *
 * Source    SHA-256: FIPS 180-4, section 6.2; the work is libsodium's.
 */
#ifndef RODBOOK_DIGEST_H
#define RODBOOK_DIGEST_H

#include <sodium/crypto_hash_sha256.h>
#include <stdbool.h>
#include <stddef.h>

#define DIGEST_BYTES 32 /* FIPS 180-4: 256 bits */
#define DIGEST_HEX 64   /* the same as digits */

/*
 * The short form is written on paper: the first 24 digits, in groups of four.
 * Another record with the same 96 bits takes some 2^96 tries; two records that
 * share them, made by one hand beforehand, some 2^48 (birthday bound).
 */
#define DIGEST_SHORT_HEX 24
#define DIGEST_SHORT_TEXT 30 /* bytes of the short form, its zero included */
#define DIGEST_LEAST_HEX 16  /* fewer digits than these are taken for no digest */

/* Bytes taken in so far. */
struct digest {
    crypto_hash_sha256_state state;
};

void digest_begin(struct digest *d);
void digest_take(struct digest *d, const void *bytes, size_t n);

/* The digest of all that was taken in; more may be taken in afterwards. */
void digest_now(const struct digest *d, unsigned char out[DIGEST_BYTES]);

/* bytes[n] as 2 n lower-case digits, closed by a zero. */
void digest_hex(char *out, const unsigned char *bytes, size_t n);

/* 2 n lower-case digits at text as bytes; false, and out[] worthless, for anything else. */
bool digest_from_hex(unsigned char *out, const char *text, size_t n);

/* "3f2a 91bc 07de 44a1 9c0e 55d2" */
void digest_short(char out[DIGEST_SHORT_TEXT], const unsigned char digest[DIGEST_BYTES]);

/*
 * digest_from_paper - digits copied from paper
 *
 * Given
 *   text       16 to 64 digits in either case; blanks, dashes and points
 *              between them are passed over, and so is "12:" before them
 * Returned
 *   digits     the digits in lower case, closed by a zero; room for 65
 * Result
 *   how many; 0 where the text is no such thing
 */
size_t digest_from_paper(char digits[DIGEST_HEX + 1], const char *text);

#endif
