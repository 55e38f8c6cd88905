#include "rodbook/source.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const struct diag_place nowhere = { 0, 0 };

/* What comes through a pipe, to its end; an errno, or 0. */
static int
read_pipe(int fd, struct source *s)
{
    size_t room = 65536;
    char *bytes = malloc(room);
    while (bytes) {
        ssize_t k = read(fd, bytes + s->n, room - s->n);
        if (k < 0 && errno == EINTR)
            continue;
        if (k < 0 || s->n > SOURCE_MOST) {
            int e = k < 0 ? errno : EFBIG;
            free(bytes);
            return e;
        }
        if (k == 0) {
            s->bytes = s->own = bytes;
            return 0;
        }
        s->n += (size_t)k;
        if (s->n < room)
            continue;
        char *grown = realloc(bytes, room *= 2);
        if (!grown)
            free(bytes);
        bytes = grown;
    }
    return ENOMEM;
}

static int
open_named(struct source *s, const char *name)
{
    struct stat st;
    bool standard = strcmp(name, "-") == 0;
    int fd = standard ? STDIN_FILENO : open(name, O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        return errno;
    int e = fstat(fd, &st) != 0 ? errno : 0;
    if (e == 0 && S_ISDIR(st.st_mode))
        e = EISDIR;
    if (e == 0 && S_ISREG(st.st_mode) && !standard) {
        e = st.st_size > (off_t)SOURCE_MOST ? EFBIG : 0;
        s->n = (size_t)st.st_size;
        s->fd = fd;
    } else if (e == 0) {
        e = read_pipe(fd, s);
    }
    if (!standard && (e != 0 || s->fd < 0))
        close(fd);
    return e;
}

int
source_open(struct source *s, const char *name, struct diag *d)
{
    *s = (struct source){ .name = name, .fd = -1 };
    int e = open_named(s, name);
    if (e == 0)
        return 0;
    diag_say(d, DIAG_ERROR, nowhere, "file", "cannot be read: %s", strerror(e));
    *s = (struct source){ .name = name, .fd = -1 };
    return -1;
}

struct source
source_of_bytes(const char *bytes, size_t n)
{
    return (struct source){ .name = "", .n = n, .fd = -1, .bytes = bytes };
}

struct source
source_of_file(int fd, const char *name, size_t n)
{
    return (struct source){ .name = name, .n = n, .fd = fd };
}

void
source_close(struct source *s)
{
    if (s->fd >= 0)
        close(s->fd);
    free(s->own);
    *s = (struct source){ .name = s->name, .fd = -1 };
}

/* All of buffer[want], from a file; false where that cannot be. */
static bool
read_part(const struct source *s, size_t offset, char *buffer, size_t want)
{
    for (size_t have = 0; have < want;) {
        ssize_t k = pread(s->fd, buffer + have, want - have, (off_t)(offset + have));
        if (k < 0 && errno == EINTR)
            continue;
        if (k <= 0)
            return false;
        have += (size_t)k;
    }
    return true;
}

ptrdiff_t
source_part(const struct source *s, size_t offset, char *buffer, size_t n)
{
    size_t left = offset < s->n ? s->n - offset : 0, want = n < left ? n : left;
    if (s->fd < 0 && want > 0)
        memcpy(buffer, s->bytes + offset, want);
    if (s->fd >= 0 && !read_part(s, offset, buffer, want))
        return -1;
    if (s->told)
        s->told(s->with, want);
    return (ptrdiff_t)want;
}

/* Go on to the line behind; false at the end. */
static bool
next_line(const struct source *s, struct source_line *at)
{
    char buffer[4096];
    for (size_t offset = at->offset;;) {
        ptrdiff_t n = source_part(s, offset, buffer, sizeof buffer);
        if (n <= 0)
            return false;
        const char *lf = memchr(buffer, '\n', (size_t)n);
        if (lf) {
            at->offset = offset + (size_t)(lf - buffer) + 1;
            at->number++;
            return true;
        }
        offset += (size_t)n;
    }
}

bool
source_find_line(const struct source *s, struct source_line *at, uint32_t number, char *line, size_t room)
{
    if (at->number == 0 || at->number > number)
        *at = (struct source_line){ 0, 1 };
    while (at->number < number)
        if (!next_line(s, at))
            return false;
    ptrdiff_t n = source_part(s, at->offset, line, room - 1);
    if (n <= 0)
        return false;
    line[n] = '\0';
    line[strcspn(line, "\r\n")] = '\0';
    return true;
}
