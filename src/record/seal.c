#include "rodbook/seal.h"

#include <errno.h>
#include <fcntl.h>
#include <sodium/core.h>
#include <sodium/crypto_sign.h>
#include <sodium/randombytes.h>
#include <sodium/utils.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const struct diag_place nowhere = { 0, 0 };

/* What is signed: the words, and behind them the digest. */
static const char words[] = "rodbook seal 1\n";
#define MESSAGE (sizeof words - 1 + DIGEST_BYTES)

/* A key file: three lines. */
#define KEY_HEAD "rodbook key 1\n"
#define KEY_SECRET "secret: "
#define KEY_PUBLIC "public: "
#define KEY_FILE (sizeof KEY_HEAD KEY_SECRET KEY_PUBLIC - 1 + 2 * (2 * (size_t)SEAL_KEY_BYTES + 1))

void
seal_key_of(struct seal_key *k, const unsigned char seed[SEAL_SEED_BYTES])
{
    unsigned char secret[crypto_sign_SECRETKEYBYTES];
    memmove(k->seed, seed, SEAL_SEED_BYTES);
    (void)crypto_sign_seed_keypair(k->key, secret, k->seed);
    sodium_memzero(secret, sizeof secret);
}

void
seal_key_release(struct seal_key *k)
{
    sodium_memzero(k, sizeof *k);
}

void
seal_sign_bytes(const struct seal_key *k, const void *message, size_t n, unsigned char out[SEAL_SIGNATURE_BYTES])
{
    unsigned char secret[crypto_sign_SECRETKEYBYTES], key[SEAL_KEY_BYTES];
    (void)crypto_sign_seed_keypair(key, secret, k->seed);
    (void)crypto_sign_detached(out, NULL, message, n, secret);
    sodium_memzero(secret, sizeof secret);
}

bool
seal_check_bytes(const unsigned char key[SEAL_KEY_BYTES], const void *message, size_t n,
    const unsigned char signature[SEAL_SIGNATURE_BYTES])
{
    return crypto_sign_verify_detached(signature, message, n, key) == 0;
}

static void
message_of(unsigned char message[MESSAGE], const unsigned char above[DIGEST_BYTES])
{
    memcpy(message, words, sizeof words - 1);
    memcpy(message + sizeof words - 1, above, DIGEST_BYTES);
}

void
seal_sign(const struct seal_key *k, const unsigned char above[DIGEST_BYTES], unsigned char out[SEAL_SIGNATURE_BYTES])
{
    unsigned char message[MESSAGE];
    message_of(message, above);
    seal_sign_bytes(k, message, sizeof message, out);
}

bool
seal_check(const unsigned char key[SEAL_KEY_BYTES], const unsigned char above[DIGEST_BYTES],
    const unsigned char signature[SEAL_SIGNATURE_BYTES])
{
    unsigned char message[MESSAGE];
    message_of(message, above);
    return seal_check_bytes(key, message, sizeof message, signature);
}

/* ---- key files ---- */

static void
key_text(char text[KEY_FILE + 1], const struct seal_key *k)
{
    char secret[2 * SEAL_SEED_BYTES + 1], key[2 * SEAL_KEY_BYTES + 1];
    digest_hex(secret, k->seed, SEAL_SEED_BYTES);
    digest_hex(key, k->key, SEAL_KEY_BYTES);
    char *p = stpcpy(stpcpy(stpcpy(text, KEY_HEAD KEY_SECRET), secret), "\n" KEY_PUBLIC);
    stpcpy(stpcpy(p, key), "\n");
    sodium_memzero(secret, sizeof secret);
}

/* All of text[n] into a file, and onto the disk; an errno, or 0. */
static int
write_whole(int fd, const char *text, size_t n)
{
    while (n > 0) {
        ssize_t k = write(fd, text, n);
        if (k < 0 && errno == EINTR)
            continue;
        if (k <= 0)
            return k < 0 ? errno : EIO;
        text += k;
        n -= (size_t)k;
    }
    return fsync(fd) == 0 ? 0 : errno;
}

int
seal_key_make(struct seal_key *k, const char *file, struct diag *d)
{
    unsigned char seed[SEAL_SEED_BYTES];
    char text[KEY_FILE + 1];
    if (sodium_init() < 0) {
        diag_say(d, DIAG_ERROR, nowhere, "key", "no source of random numbers is at hand, so no key can be made");
        return -1;
    }
    int fd = open(file, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
    if (fd < 0) {
        diag_say(d, DIAG_ERROR, nowhere, "key", errno == EEXIST ? "there is a key here already, and a key is never written over"
                                                                : "the key cannot be written: %s", strerror(errno));
        return -1;
    }
    randombytes_buf(seed, sizeof seed);
    seal_key_of(k, seed);
    key_text(text, k);
    int e = fchmod(fd, 0600) != 0 ? errno : write_whole(fd, text, KEY_FILE);
    if (close(fd) != 0 && e == 0)
        e = errno;
    sodium_memzero(text, sizeof text);
    sodium_memzero(seed, sizeof seed);
    if (e == 0)
        return 0;
    (void)unlink(file);
    seal_key_release(k);
    diag_say(d, DIAG_ERROR, nowhere, "key", "the key cannot be written: %s", strerror(e));
    return -1;
}

static bool
read_key(struct seal_key *k, const char text[KEY_FILE])
{
    unsigned char seed[SEAL_SEED_BYTES], key[SEAL_KEY_BYTES];
    const size_t secret = sizeof KEY_HEAD KEY_SECRET - 1, line = secret + 2 * (size_t)SEAL_SEED_BYTES;
    const size_t public = line + sizeof "\n" KEY_PUBLIC - 1;
    bool form = memcmp(text, KEY_HEAD KEY_SECRET, secret) == 0 && digest_from_hex(seed, text + secret, sizeof seed)
        && memcmp(text + line, "\n" KEY_PUBLIC, public - line) == 0 && digest_from_hex(key, text + public, sizeof key)
        && text[KEY_FILE - 1] == '\n';
    if (form)
        seal_key_of(k, seed);
    sodium_memzero(seed, sizeof seed);
    return form && memcmp(k->key, key, sizeof key) == 0;
}

/* Why this file holds no secret, or NULL. */
static const char *
not_private(int fd)
{
    struct stat st;
    if (fstat(fd, &st) != 0 || !S_ISREG(st.st_mode))
        return "is no file";
    if (st.st_uid != geteuid() && st.st_uid != 0)
        return "belongs to somebody else";
    if (st.st_mode & 077)
        return "can be read or written by others: a key has mode 600; if nobody has taken it, chmod 600 will do, else make another";
    return NULL;
}

int
seal_key_read(struct seal_key *k, const char *file, struct diag *d)
{
    char text[KEY_FILE + 1];
    size_t have = 0;
    ssize_t got = 0;
    int fd = open(file, O_RDONLY | O_CLOEXEC);
    if (fd < 0) {
        diag_say(d, DIAG_ERROR, nowhere, "key", "the key cannot be read: %s; rodbook key makes one", strerror(errno));
        return -1;
    }
    const char *fault = not_private(fd);
    while (!fault && have < sizeof text && ((got = read(fd, text + have, sizeof text - have)) > 0 || (got < 0 && errno == EINTR)))
        have += got > 0 ? (size_t)got : 0;
    close(fd);
    if (!fault && (have != KEY_FILE || !read_key(k, text)))
        fault = "is no key file, or a damaged one";
    sodium_memzero(text, sizeof text);
    if (!fault)
        return 0;
    diag_say(d, DIAG_ERROR, nowhere, "key", "this file %s", fault);
    return -1;
}
