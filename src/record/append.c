#include "rodbook/append.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

static const struct diag_place nowhere = { 0, 0 };

#define complain(d, check, ...) diag_say((d), DIAG_ERROR, nowhere, (check), __VA_ARGS__)

/* ---- text ---- */

void
append_text_release(struct append_text *t)
{
    free(t->bytes);
    *t = (struct append_text){ 0 };
}

bool
append_text_add(struct append_text *t, const char *bytes, size_t n)
{
    if (!t->bytes || n > t->room - t->n) {
        size_t room = t->n + n + t->room / 2 + 512;
        char *grown = realloc(t->bytes, room);
        if (!grown)
            return false;
        t->bytes = grown;
        t->room = room;
    }
    if (n > 0)
        memcpy(t->bytes + t->n, bytes, n);
    t->n += n;
    return true;
}

bool
append_text_read(struct append_text *t, const struct source *source, struct diag *d)
{
    char part[16384];
    for (size_t offset = 0; offset < source->n;) {
        ptrdiff_t k = source_part(source, offset, part, sizeof part);
        if (k <= 0) {
            complain(d, "file", "cannot be read to its end");
            return false;
        }
        if (!append_text_add(t, part, (size_t)k)) {
            complain(d, "memory", "out of memory; nothing was written");
            return false;
        }
        offset += (size_t)k;
    }
    return true;
}

static bool
add(struct append_text *t, const char *text)
{
    return append_text_add(t, text, strlen(text));
}

/* ---- composing ---- */

struct scan_end
append_nowhere(void)
{
    struct scan_end at = { .ended = true };
    digest_begin(&at.hash);
    return at;
}

/*
 * A last line that is a digest but for its line feed belongs to an entry that
 * was never acknowledged: a blank keeps it from becoming whole.
 */
static const char *
mend_of(const struct scan_end *at)
{
    return at->digest_cut ? " \n" : at->ended ? "" : "\n";
}

static bool
add_seal(struct append_text *t, struct digest *hash, size_t *hashed, const struct seal_key *key)
{
    unsigned char above[DIGEST_BYTES], signature[SEAL_SIGNATURE_BYTES];
    char digits[2 * SEAL_SIGNATURE_BYTES + 1];
    digest_hex(digits, key->key, SEAL_KEY_BYTES);
    if (!add(t, "seal:\n  key: ") || !add(t, digits) || !add(t, "\n"))
        return false;
    digest_take(hash, t->bytes + *hashed, t->n - *hashed);
    *hashed = t->n;
    digest_now(hash, above);
    seal_sign(key, above, signature);
    digest_hex(digits, signature, SEAL_SIGNATURE_BYTES);
    return add(t, "  signature: ") && add(t, digits) && add(t, "\n");
}

/* An entry's head is its --- line, with what stands above that. */
static int
compose(struct append_text *t, struct scan_end *at, const char *head, size_t heads, const char *body, size_t n,
    const struct seal_key *key, unsigned char digest[DIGEST_BYTES])
{
    char number[40], digits[DIGEST_HEX + 1];
    size_t start = t->n, hashed = start;
    struct digest hash = at->hash;
    snprintf(number, sizeof number, "entry: %" PRIu32 "\n", at->entries + 1);
    if (!add(t, mend_of(at)) || !append_text_add(t, head, heads) || !add(t, number) || !append_text_add(t, body, n)
        || (t->bytes[t->n - 1] != '\n' && !add(t, "\n")) || (key && !add_seal(t, &hash, &hashed, key)))
        return -1;
    digest_take(&hash, t->bytes + hashed, t->n - hashed);
    hashed = t->n;
    digest_now(&hash, digest);
    digest_hex(digits, digest, DIGEST_BYTES);
    if (!add(t, "digest: ") || !add(t, digits) || !add(t, "\n"))
        return -1;
    digest_take(&hash, t->bytes + hashed, t->n - hashed);
    at->hash = hash;
    at->size += t->n - start;
    at->entries++;
    at->lines -= !at->ended; /* the last line was counted, and only ends now */
    for (size_t i = start; i < t->n; i++)
        at->lines += t->bytes[i] == '\n';
    at->ended = true;
    at->digest_cut = false;
    return 0;
}

int
append_compose(struct append_text *t, struct scan_end *at, const char *body, size_t n, const struct seal_key *key,
    unsigned char digest[DIGEST_BYTES])
{
    return compose(t, at, "---\n", strlen("---\n"), body, n, key, digest);
}

int
append_compose_as(struct append_text *t, struct scan_end *at, const char *head, size_t heads, const char *body, size_t n,
    unsigned char digest[DIGEST_BYTES])
{
    return compose(t, at, head, heads, body, n, NULL, digest);
}

/* ---- the lock ---- */

#define LOCK_WAIT_S 30       /* longer than any disk takes for an entry */
#define LOCK_PAUSE_NS 500000 /* between tries: half a millisecond, about what an entry takes on a good disk */

static int
lock(int fd, struct diag *d)
{
    const struct timespec pause = { 0, LOCK_PAUSE_NS };
    for (long tries = 0; flock(fd, LOCK_EX | LOCK_NB) != 0; tries++) {
        if (errno != EWOULDBLOCK && errno != EINTR) {
            complain(d, "locked", "cannot be locked: %s; nothing is written where two bookers could mix", strerror(errno));
            return -1;
        }
        if (tries * LOCK_PAUSE_NS / 1000000000 >= LOCK_WAIT_S) {
            complain(d, "locked", "another program has held the record for %d seconds; nothing was written: try again", LOCK_WAIT_S);
            return -1;
        }
        (void)nanosleep(&pause, NULL);
    }
    return 0;
}

static void
unlock(struct append *a)
{
    while (flock(a->fd, LOCK_UN) != 0 && errno == EINTR)
        ; /* else others would wait until this program ends */
    a->locked = false;
}

/* ---- opening and catching up ---- */

static int
open_file(struct append *a, struct stat *st, struct diag *d)
{
    a->fd = open(a->file, O_RDWR | O_APPEND | O_CLOEXEC | O_NOCTTY);
    if (a->fd < 0 && errno == ENOENT)
        complain(d, "file", "there is no such file; rodbook new makes a job");
    else if (a->fd < 0)
        complain(d, "file", "cannot be written: %s", strerror(errno));
    else if (fstat(a->fd, st) != 0)
        complain(d, "file", "cannot be read: %s", strerror(errno));
    else if (!S_ISREG(st->st_mode))
        complain(d, "file", "is no file that can be added to");
    else
        return 0;
    return -1;
}

int
append_open(struct append *a, const char *file, struct record *r, struct diag *d)
{
    struct stat st;
    *a = (struct append){ .file = file, .fd = -1 };
    *r = (struct record){ 0 };
    if (open_file(a, &st, d) != 0 || lock(a->fd, d) != 0)
        return -1;
    size_t errors = d->errors;
    int rc = fstat(a->fd, &st);
    if (rc != 0 || st.st_size > (off_t)SOURCE_MOST)
        complain(d, "file", "cannot be read: %s", strerror(rc != 0 ? errno : EFBIG));
    if (d->errors == errors) {
        struct source source = source_of_file(a->fd, file, (size_t)st.st_size);
        rc = record_read_on(r, &source, &a->at, d);
    }
    unlock(a);
    a->device = st.st_dev;
    a->inode = st.st_ino;
    return rc != 0 || a->at.size != (size_t)st.st_size ? -1 : 0;
}

void
append_close(struct append *a)
{
    if (a->fd >= 0)
        (void)close(a->fd); /* whatever it holds was confirmed by fsync() or said not to be */
    a->fd = -1;
}

/* A torn entry, our own or another's, changes nothing that was read. */
static int
count_used(void *with, const struct scan_found *found)
{
    uint32_t *used = with;
    *used += found->entry.state != SCAN_TORN;
    return 0;
}

static int
catch_up(struct append *a, struct diag *d)
{
    struct stat mine, named;
    struct scan_end at = a->at;
    int rc = fstat(a->fd, &mine);
    if (rc == 0)
        rc = stat(a->file, &named);
    if (rc != 0 && errno == ENOENT) {
        complain(d, "replaced", "no file stands under this name any more: it was removed or renamed; nothing was written: "
            "look where it is, and start again");
        return -1;
    }
    if (rc != 0) {
        complain(d, "file", "cannot be looked at: %s; nothing was written", strerror(errno));
        return -1;
    }
    if (mine.st_dev != named.st_dev || mine.st_ino != named.st_ino) {
        complain(d, "replaced", "another file stands under this name since it was opened; nothing was written: "
            "look what it is, and start again");
        return -1;
    }
    if ((size_t)mine.st_size < a->at.size) {
        complain(d, "replaced", "the record has become shorter since it was last read; nothing was written: "
            "rodbook audit tells what is left, then start again");
        return -1;
    }
    a->news = a->at.size;
    a->others = 0;
    if ((size_t)mine.st_size == a->at.size)
        return 0;
    if (mine.st_size > (off_t)SOURCE_MOST) {
        complain(d, "file", "cannot be read: %s", strerror(EFBIG));
        return -1;
    }
    struct source source = source_of_file(a->fd, a->file, (size_t)mine.st_size);
    size_t errors = d->errors;
    rc = scan_go_on(&source, d, count_used, &a->others, &at);
    if (rc != 0 || (d->errors > errors && at.size != (size_t)mine.st_size))
        return -1; /* where it stopped before is still known, and its hash with it */
    a->at = at;
    return 0;
}

int
append_begin(struct append *a, struct diag *d)
{
    if (a->dead) {
        complain(d, "disk", "the disk has failed before; nothing was written: bring the record to another disk, and start again");
        return -1;
    }
    if (lock(a->fd, d) != 0)
        return -1;
    a->locked = true;
    if (catch_up(a, d) == 0)
        return 0;
    unlock(a);
    return -1;
}

void
append_end(struct append *a)
{
    if (a->locked)
        unlock(a);
}

/* ---- writing ---- */

/* All of bytes[n]; an errno, or 0. */
static int
write_whole(int fd, const char *bytes, size_t n)
{
    while (n > 0) {
        ssize_t k = write(fd, bytes, n);
        if (k < 0 && errno == EINTR)
            continue;
        if (k <= 0)
            return k < 0 ? errno : ENOSPC;
        bytes += k;
        n -= (size_t)k;
    }
    return 0;
}

/* An fsync() that was interrupted has not failed; one that failed is never asked again. An errno, or 0. */
static int
confirm(int fd)
{
    while (fsync(fd) != 0)
        if (errno != EINTR)
            return errno;
    return 0;
}

static int
cut(int fd, size_t size)
{
    while (ftruncate(fd, (off_t)size) != 0)
        if (errno != EINTR)
            return errno;
    return 0;
}

/* Of entries that were to be written together, those that stand there whole. */
static int
count_whole(void *with, const struct scan_found *found)
{
    uint32_t *whole = with;
    *whole += found->entry.state == SCAN_SEALED && !found->entry.broken;
    return 0;
}

static uint32_t
whole_left(const struct append *a)
{
    struct stat st;
    struct diag unsaid = { 0 };
    struct scan_end at = a->at;
    uint32_t whole = 0;
    if (fstat(a->fd, &st) == 0) {
        struct source source = source_of_file(a->fd, a->file, (size_t)st.st_size);
        (void)scan_go_on(&source, &unsaid, count_whole, &whole, &at);
    }
    diag_release(&unsaid);
    return whole;
}

/* What could not be taken out again is never left unsaid. */
static void
say_left(const struct append *a, const char *what, int e, struct diag *d)
{
    uint32_t whole = whole_left(a), first = a->at.entries + 1;
    if (whole == 0)
        complain(d, "disk", "%s: %s; it could not be taken out again: a torn entry is left at the end of the record, and is "
            "never used", what, strerror(e));
    else
        complain(d, "disk", "%s: %s; it could not all be taken out again: entries %" PRIu32 " to %" PRIu32 " are in the record, "
            "and nothing behind them is used", what, strerror(e), first, first + whole - 1);
}

/* What was written is taken out again, so that only what was acknowledged stands there. */
static void
cut_back(const struct append *a, const char *what, int e, struct diag *d)
{
    if (cut(a->fd, a->at.size) != 0)
        say_left(a, what, e, d);
    else
        complain(d, "disk", "%s: %s; the record stands as it was before", what, strerror(e));
}

int
append_composed(struct append *a, const struct append_text *text, const struct scan_end *at,
    const unsigned char digest[DIGEST_BYTES], struct diag *d)
{
    bool one = at->entries == a->at.entries + 1;
    if (at->size > SOURCE_MOST) {
        complain(d, "file", "a record of 4 GB is full; nothing was written: begin another");
        return -1;
    }
    int e = write_whole(a->fd, text->bytes, text->n);
    if (e != 0) {
        cut_back(a, one ? "the entry could not be written" : "the entries could not be written", e, d);
        return -1;
    }
    e = confirm(a->fd);
    if (e != 0) {
        a->dead = true; /* the system may have dropped what it could not write; to ask again would prove nothing */
        cut_back(a, one ? "the disk did not confirm the entry" : "the disk did not confirm the entries", e, d);
        return -1;
    }
    a->at = *at;
    memcpy(a->digest, digest, DIGEST_BYTES);
    return 0;
}

int
append_entry(struct append *a, const char *body, size_t n, const struct seal_key *key, struct diag *d)
{
    struct append_text text = { 0 };
    struct scan_end at = a->at;
    unsigned char digest[DIGEST_BYTES];
    int rc = -1;
    if (append_compose(&text, &at, body, n, key, digest) != 0)
        complain(d, "memory", "out of memory; nothing was written");
    else
        rc = append_composed(a, &text, &at, digest, d);
    append_text_release(&text);
    return rc;
}

int
append_one(struct append *a, const char *body, size_t n, const struct seal_key *key, struct diag *d)
{
    if (append_begin(a, d) != 0)
        return -1;
    int rc = append_entry(a, body, n, key, d);
    append_end(a);
    return rc;
}

/* ---- a new file ---- */

/* Give a file its name, unless that is taken; an errno, or 0. */
static int
name_file(const char *draft, const char *file)
{
    if (renameat2(AT_FDCWD, draft, AT_FDCWD, file, RENAME_NOREPLACE) == 0)
        return 0;
    if (errno != EINVAL && errno != ENOSYS)
        return errno;
    if (link(draft, file) != 0) /* a file system that cannot rename without replacing */
        return errno;
    (void)unlink(draft);
    return 0;
}

static int
sync_directory(const char *file)
{
    const char *slash = strrchr(file, '/');
    char *directory = slash ? strndup(file, slash == file ? 1 : (size_t)(slash - file)) : strdup(".");
    int fd = directory ? open(directory, O_RDONLY | O_DIRECTORY | O_CLOEXEC) : -1;
    int e = fd < 0 ? errno : 0;
    if (fd >= 0) {
        e = confirm(fd);
        close(fd);
    }
    free(directory);
    return e;
}

/* The draft beside the file, written and on the disk; an errno, or 0. */
static int
write_draft(const char *draft, const char *bytes, size_t n)
{
    int fd = open(draft, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (fd < 0)
        return errno;
    int e = write_whole(fd, bytes, n);
    if (e == 0)
        e = confirm(fd);
    if (close(fd) != 0 && e == 0 && errno != EINTR) /* interrupted, it is closed all the same */
        e = errno;
    if (e != 0)
        (void)unlink(draft);
    return e;
}

int
append_is_free(const char *file, struct diag *d)
{
    struct stat st;
    if (lstat(file, &st) != 0)
        return 0;
    complain(d, "file", "is there already, and is never written over");
    return -1;
}

int
append_create(const char *file, const char *bytes, size_t n, struct diag *d)
{
    char *draft = NULL;
    if (append_is_free(file, d) != 0)
        return -1;
    int e = asprintf(&draft, "%s.new-%ld", file, (long)getpid()) < 0 ? ENOMEM : write_draft(draft, bytes, n);
    if (e == 0 && (e = name_file(draft, file)) != 0)
        (void)unlink(draft);
    else if (e == 0 && (e = sync_directory(file)) != 0)
        (void)unlink(file);
    if (e != 0)
        complain(d, "file", e == EEXIST ? "is there already, and is never written over" : "cannot be made: %s; nothing is left of it",
            strerror(e));
    free(draft);
    return e == 0 ? 0 : -1;
}
