/*
 * seal.h - the crew's key, and signatures over a record
 *
 * A seal signs all that stands above its signature line, so that nobody
 * without the key can alter the record and make its digests anew.
 *
 * Source    Ed25519: RFC 8032, section 5.1; the work is libsodium's.
 */
#ifndef RODBOOK_SEAL_H
#define RODBOOK_SEAL_H

#include "rodbook/diag.h"
#include "rodbook/digest.h"

#define SEAL_KEY_BYTES 32       /* public key, RFC 8032, 5.1.5 */
#define SEAL_SEED_BYTES 32      /* secret key, RFC 8032, 5.1.5 */
#define SEAL_SIGNATURE_BYTES 64 /* RFC 8032, 5.1.6 */

enum seal_state {
    SEAL_NONE,
    SEAL_FITS,
    SEAL_BROKEN /* the signature is not that of its key over what stands above it */
};

/* A crew's key. */
struct seal_key {
    unsigned char seed[SEAL_SEED_BYTES]; /* secret */
    unsigned char key[SEAL_KEY_BYTES];   /* public */
};

/* The public key that belongs to a seed. */
void seal_key_of(struct seal_key *k, const unsigned char seed[SEAL_SEED_BYTES]);

/* Forget the secret. */
void seal_key_release(struct seal_key *k);

/* Ed25519 as it stands in the RFC, over any message. */
void seal_sign_bytes(const struct seal_key *k, const void *message, size_t n, unsigned char out[SEAL_SIGNATURE_BYTES]);
bool seal_check_bytes(const unsigned char key[SEAL_KEY_BYTES], const void *message, size_t n,
    const unsigned char signature[SEAL_SIGNATURE_BYTES]);

/*
 * seal_sign - sign a record
 *
 * Given
 *   above      digest of every byte above the signature line
 *
 * Method    Ed25519 over the text "rodbook seal 1", a line feed and the 32 bytes of `above`.
 */
void seal_sign(const struct seal_key *k, const unsigned char above[DIGEST_BYTES], unsigned char out[SEAL_SIGNATURE_BYTES]);
bool seal_check(const unsigned char key[SEAL_KEY_BYTES], const unsigned char above[DIGEST_BYTES],
    const unsigned char signature[SEAL_SIGNATURE_BYTES]);

/*
 * seal_key_make - a new key in a file of mode 600, never over an existing one
 *
 * Result
 *   0, or -1: said in `d`, and no file is left behind
 */
int seal_key_make(struct seal_key *k, const char *file, struct diag *d);

/*
 * seal_key_read - read a key file
 *
 * Result
 *   0, or -1: said in `d`; a file that others than its owner may read or
 *   write is refused
 */
int seal_key_read(struct seal_key *k, const char *file, struct diag *d);

#endif
