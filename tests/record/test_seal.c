/* test_seal.c - digests, signatures and key files, against what is published of them */
#include "../near.h"
#include "rfc8032.h"

#include "rodbook/seal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define COUNT(list) (sizeof(list) / sizeof *(list))

/* ---- digests ---- */

static void
assert_digest(const struct digest *d, const char *want)
{
    unsigned char bytes[DIGEST_BYTES];
    char digits[DIGEST_HEX + 1];
    digest_now(d, bytes);
    digest_hex(digits, bytes, DIGEST_BYTES);
    assert_string_equal(digits, want);
}

/*
 * Source: NIST, Cryptographic Standards and Guidelines, "Examples with
 * Intermediate Values", SHA256.pdf: "abc" (one block) and the 56 letters (two
 * blocks), the examples of FIPS 180-2, appendix B.1 and B.2; B.3: one million
 * letters a. The empty message: NIST CAVP, SHA256ShortMsg.rsp, Len = 0.
 */
static const struct {
    const char *message, *digest;
} fips[] = {
    { "", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855" },
    { "abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad" },
    { "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1" },
};

static void
digests_are_those_published(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(fips); i++) {
        struct digest d;
        digest_begin(&d);
        digest_take(&d, fips[i].message, strlen(fips[i].message));
        assert_digest(&d, fips[i].digest);
    }
}

/* In pieces of every size that comes up: a record is taken in line by line. */
static void
a_million_letters(void **state)
{
    char letters[1000];
    struct digest d;
    size_t left = 1000000;
    (void)state;
    memset(letters, 'a', sizeof letters);
    digest_begin(&d);
    for (size_t n = 1; left > 0; n = n % sizeof letters + 1) {
        size_t k = n < left ? n : left;
        digest_take(&d, letters, k);
        left -= k;
    }
    assert_digest(&d, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
}

/* What was asked for on the way changes nothing. */
static void
a_digest_can_be_asked_for_at_any_time(void **state)
{
    struct digest d;
    (void)state;
    digest_begin(&d);
    assert_digest(&d, fips[0].digest);
    digest_take(&d, "ab", 2);
    digest_take(&d, "c", 1);
    assert_digest(&d, fips[1].digest);
    assert_digest(&d, fips[1].digest);
}

static void
digits_are_read_strictly(void **state)
{
    unsigned char bytes[2];
    char digits[5];
    (void)state;
    for (int c = 0; c < 256; c++) {
        const char text[5] = { '0', 'a', '9', (char)c, '\0' };
        bool digit = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'f');
        assert_int_equal(digest_from_hex(bytes, text, 2), digit);
        if (!digit)
            continue;
        digest_hex(digits, bytes, 2);
        assert_string_equal(digits, text);
    }
}

static void
digits_on_paper(void **state)
{
    static const struct {
        const char *text, *digits;
    } read[] = { { "12: 3f2a 91bc 07de 44a1 9c0e 55d2", "3f2a91bc07de44a19c0e55d2" }, { "3F2A-91BC-07DE-44A1", "3f2a91bc07de44a1" },
        { "12:3f2a91bc07de44a1", "3f2a91bc07de44a1" }, { "3f2a.91bc.07de.44a", "" }, { "3f2a 91bc 07de 44ag", "" }, { "", "" },
        { "12:", "" }, { "00000000000000000000000000000000000000000000000000000000000000000", "" } };
    (void)state;
    for (size_t i = 0; i < COUNT(read); i++) {
        char digits[DIGEST_HEX + 1] = "";
        size_t n = digest_from_paper(digits, read[i].text);
        assert_int_equal(n, strlen(read[i].digits));
        if (n > 0)
            assert_string_equal(digits, read[i].digits);
    }
}

/* ---- signatures ---- */

#define MESSAGE_MOST 1024

struct vector {
    unsigned char seed[SEAL_SEED_BYTES], key[SEAL_KEY_BYTES], message[MESSAGE_MOST], signature[SEAL_SIGNATURE_BYTES];
    size_t n;
};

static struct vector
vector_of(const struct rfc8032 *from)
{
    struct vector v = { .n = strlen(from->message) / 2 };
    assert_in_range(v.n, 0, MESSAGE_MOST);
    assert_true(digest_from_hex(v.seed, from->secret, SEAL_SEED_BYTES));
    assert_true(digest_from_hex(v.key, from->key, SEAL_KEY_BYTES));
    assert_true(digest_from_hex(v.message, from->message, v.n));
    assert_true(digest_from_hex(v.signature, from->signature, SEAL_SIGNATURE_BYTES));
    return v;
}

static void
signatures_are_those_published(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(rfc8032); i++) {
        struct vector v = vector_of(&rfc8032[i]);
        struct seal_key k;
        unsigned char signature[SEAL_SIGNATURE_BYTES];
        seal_key_of(&k, v.seed);
        assert_memory_equal(k.key, v.key, SEAL_KEY_BYTES);
        seal_sign_bytes(&k, v.message, v.n, signature);
        assert_memory_equal(signature, v.signature, SEAL_SIGNATURE_BYTES);
        assert_true(seal_check_bytes(v.key, v.message, v.n, v.signature));
    }
    assert_int_equal(strlen(rfc8032[3].message), 2 * 1023);
}

/* Any one bit of message, signature or key another. */
static void
one_bit_off_is_refused(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(rfc8032); i++) {
        struct vector v = vector_of(&rfc8032[i]);
        for (size_t bit = 0; bit < 8 * v.n; bit++) {
            v.message[bit / 8] ^= (unsigned char)(1 << bit % 8);
            assert_false(seal_check_bytes(v.key, v.message, v.n, v.signature));
            v.message[bit / 8] ^= (unsigned char)(1 << bit % 8);
        }
        for (size_t bit = 0; bit < 8 * (size_t)SEAL_SIGNATURE_BYTES; bit++) {
            v.signature[bit / 8] ^= (unsigned char)(1 << bit % 8);
            assert_false(seal_check_bytes(v.key, v.message, v.n, v.signature));
            v.signature[bit / 8] ^= (unsigned char)(1 << bit % 8);
        }
        for (size_t bit = 0; bit < 8 * (size_t)SEAL_KEY_BYTES; bit++) {
            v.key[bit / 8] ^= (unsigned char)(1 << bit % 8);
            assert_false(seal_check_bytes(v.key, v.message, v.n, v.signature));
            v.key[bit / 8] ^= (unsigned char)(1 << bit % 8);
        }
        assert_true(seal_check_bytes(v.key, v.message, v.n, v.signature));
    }
}

/* RFC 8032, 5.1.7: the second half is a number below the order of the group; adding the order must not pass. */
static void
a_second_spelling_of_a_signature_is_refused(void **state)
{
    static const unsigned char order[32] = { 0xed, 0xd3, 0xf5, 0x5c, 0x1a, 0x63, 0x12, 0x58, 0xd6, 0x9c, 0xf7, 0xa2, 0xde, 0xf9,
        0xde, 0x14, [31] = 0x10 };
    struct vector v = vector_of(&rfc8032[1]);
    unsigned carry = 0;
    (void)state;
    for (size_t i = 0; i < 32; i++) {
        carry += (unsigned)v.signature[32 + i] + order[i];
        v.signature[32 + i] = (unsigned char)carry;
        carry >>= 8;
    }
    assert_int_equal(carry, 0);
    assert_false(seal_check_bytes(v.key, v.message, v.n, v.signature));
}

/* docs/record.md: what is signed is the text "rodbook seal 1", a line feed, and the raw digest. */
static void
a_seal_signs_what_is_documented(void **state)
{
    struct vector v = vector_of(&rfc8032[0]);
    struct seal_key k;
    struct digest d;
    unsigned char above[DIGEST_BYTES], message[15 + DIGEST_BYTES] = "rodbook seal 1\n", by_hand[SEAL_SIGNATURE_BYTES],
        signature[SEAL_SIGNATURE_BYTES];
    (void)state;
    seal_key_of(&k, v.seed);
    digest_begin(&d);
    digest_take(&d, "abc", 3);
    digest_now(&d, above);
    memcpy(message + 15, above, sizeof above);
    seal_sign_bytes(&k, message, sizeof message, by_hand);
    seal_sign(&k, above, signature);
    assert_memory_equal(signature, by_hand, sizeof by_hand);
    assert_true(seal_check(k.key, above, signature));
    above[31] ^= 1;
    assert_false(seal_check(k.key, above, signature));
}

/* ---- key files ---- */

static char folder[512], file[600];

static int
make_folder(void **state)
{
    const char *build = getenv("BUILD");
    (void)state;
    snprintf(folder, sizeof folder, "%s/keys-XXXXXX", build ? build : "build/release");
    if (!mkdtemp(folder))
        return -1;
    snprintf(file, sizeof file, "%s/key", folder);
    return 0;
}

static int
remove_folder(void **state)
{
    (void)state;
    (void)unlink(file);
    return rmdir(folder);
}

static char *
read_file(size_t *n)
{
    static char text[4096];
    FILE *f = fopen(file, "rb");
    assert_non_null(f);
    *n = fread(text, 1, sizeof text - 1, f);
    text[*n] = '\0';
    fclose(f);
    return text;
}

static void
write_file(const char *text, size_t n, mode_t mode)
{
    (void)unlink(file);
    FILE *f = fopen(file, "wb");
    assert_non_null(f);
    assert_int_equal(fwrite(text, 1, n, f), n);
    assert_int_equal(fclose(f), 0);
    assert_int_equal(chmod(file, mode), 0);
}

/* One complaint, of the check `key`, with these words. */
static void
assert_complained(struct diag *d, const char *words)
{
    assert_int_equal(d->n, 1);
    assert_int_equal(d->errors, 1);
    assert_string_equal(d->item[0].check, "key");
    if (!strstr(d->item[0].text, words))
        fail_msg("\"%s\" is not in: %s", words, d->item[0].text);
    diag_release(d);
}

static void
a_key_is_private_and_reads_back(void **state)
{
    struct seal_key made, read;
    struct diag d = { 0 };
    struct stat st;
    (void)state;
    mode_t old = umask(0); /* not even a careless umask opens it */
    assert_int_equal(seal_key_make(&made, file, &d), 0);
    umask(old);
    assert_int_equal(stat(file, &st), 0);
    assert_int_equal(st.st_mode & 07777, 0600);
    assert_int_equal(seal_key_read(&read, file, &d), 0);
    assert_int_equal(d.n, 0);
    assert_memory_equal(&made, &read, sizeof made);
    (void)unlink(file);
}

static void
two_keys_are_two(void **state)
{
    struct seal_key one, other;
    struct diag d = { 0 };
    (void)state;
    assert_int_equal(seal_key_make(&one, file, &d), 0);
    (void)unlink(file);
    assert_int_equal(seal_key_make(&other, file, &d), 0);
    (void)unlink(file);
    assert_memory_not_equal(one.seed, other.seed, sizeof one.seed);
    assert_memory_not_equal(one.key, other.key, sizeof one.key);
}

/* Neither a key, nor any other file, nor what a link points to is written over. */
static void
nothing_is_written_over(void **state)
{
    struct seal_key k = { .seed = "untouched" }, before = k;
    struct diag d = { 0 };
    size_t n;
    (void)state;
    write_file("a letter to the bank\n", 21, 0600);
    assert_int_equal(seal_key_make(&k, file, &d), -1);
    assert_complained(&d, "never written over");
    assert_string_equal(read_file(&n), "a letter to the bank\n");
    (void)unlink(file);
    assert_int_equal(symlink("elsewhere", file), 0);
    assert_int_equal(seal_key_make(&k, file, &d), -1);
    diag_release(&d);
    char elsewhere[600];
    snprintf(elsewhere, sizeof elsewhere, "%s/elsewhere", folder);
    assert_int_equal(access(elsewhere, F_OK), -1);
    assert_memory_equal(&k, &before, sizeof k);
}

static void
a_key_that_others_may_read_is_refused(void **state)
{
    static const mode_t modes[] = { 0640, 0604, 0620, 0602, 0610, 0601, 0666, 0777 };
    struct seal_key k;
    struct diag d = { 0 };
    (void)state;
    assert_int_equal((unlink(file), seal_key_make(&k, file, &d)), 0);
    for (size_t i = 0; i < COUNT(modes); i++) {
        assert_int_equal(chmod(file, modes[i]), 0);
        assert_int_equal(seal_key_read(&k, file, &d), -1);
        assert_complained(&d, "by others");
    }
    assert_int_equal(chmod(file, 0400), 0);
    assert_int_equal(seal_key_read(&k, file, &d), 0);
}

/* Every byte of it, each cut, and a byte more. */
static void
a_damaged_key_is_refused(void **state)
{
    struct seal_key k;
    struct diag d = { 0 };
    size_t n;
    char text[512];
    (void)state;
    assert_int_equal((unlink(file), seal_key_make(&k, file, &d)), 0);
    memcpy(text, read_file(&n), sizeof text);
    assert_in_range(n, 100, sizeof text - 2);
    for (size_t i = 0; i < n; i++) {
        text[i] ^= 1;
        write_file(text, n, 0600);
        assert_int_equal(seal_key_read(&k, file, &d), -1);
        assert_complained(&d, "no key file, or a damaged one");
        text[i] ^= 1;
    }
    for (size_t i = 0; i < n; i++) {
        write_file(text, i, 0600);
        assert_int_equal(seal_key_read(&k, file, &d), -1);
        assert_complained(&d, "no key file, or a damaged one");
    }
    text[n] = '\n';
    write_file(text, n + 1, 0600);
    assert_int_equal(seal_key_read(&k, file, &d), -1);
    assert_complained(&d, "no key file, or a damaged one");
    write_file(text, n, 0600);
    assert_int_equal(seal_key_read(&k, file, &d), 0);
}

static void
a_key_that_is_no_file_is_refused(void **state)
{
    struct seal_key k;
    struct diag d = { 0 };
    (void)state;
    (void)unlink(file);
    assert_int_equal(seal_key_read(&k, file, &d), -1);
    assert_complained(&d, "rodbook key makes one");
    assert_int_equal(seal_key_read(&k, folder, &d), -1);
    assert_complained(&d, "is no file");
    char deep[700];
    snprintf(deep, sizeof deep, "%s/not-there/key", folder);
    assert_int_equal(seal_key_make(&k, deep, &d), -1);
    assert_complained(&d, "cannot be written");
}

int
main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(digests_are_those_published),
        cmocka_unit_test(a_million_letters),
        cmocka_unit_test(a_digest_can_be_asked_for_at_any_time),
        cmocka_unit_test(digits_are_read_strictly),
        cmocka_unit_test(digits_on_paper),
        cmocka_unit_test(signatures_are_those_published),
        cmocka_unit_test(one_bit_off_is_refused),
        cmocka_unit_test(a_second_spelling_of_a_signature_is_refused),
        cmocka_unit_test(a_seal_signs_what_is_documented),
        cmocka_unit_test(a_key_is_private_and_reads_back),
        cmocka_unit_test(two_keys_are_two),
        cmocka_unit_test(nothing_is_written_over),
        cmocka_unit_test(a_key_that_others_may_read_is_refused),
        cmocka_unit_test(a_damaged_key_is_refused),
        cmocka_unit_test(a_key_that_is_no_file_is_refused),
    };
    return cmocka_run_group_tests_name("seals", tests, make_folder, remove_folder);
}
