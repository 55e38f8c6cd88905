#define _GNU_SOURCE
#include "rodbook/source.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define SOURCE_MOST UINT32_C(0xf0000000) /* bytes; places are kept in 32 bits */

static const struct diag_place nowhere = { 0, 0 };

/* Bytes to read at a time: the file's size and one more, to meet its end. */
static size_t
first_room(int fd)
{
    struct stat st;
    if (fstat(fd, &st) == 0 && S_ISREG(st.st_mode) && st.st_size > 0 && st.st_size < SOURCE_MOST)
        return (size_t)st.st_size + 1;
    return 65536;
}

/* Reads to the end; an errno, or 0. */
static int
read_all(int fd, struct source *s)
{
    size_t room = first_room(fd);
    char *bytes = malloc(room);
    if (!bytes)
        return ENOMEM;
    for (;;) {
        ssize_t k = read(fd, bytes + s->n, room - s->n);
        if (k < 0 && errno == EINTR)
            continue;
        if (k < 0) {
            int e = errno;
            free(bytes);
            return e;
        }
        if (k == 0)
            break;
        s->n += (size_t)k;
        if (s->n > SOURCE_MOST) {
            free(bytes);
            return EFBIG;
        }
        if (s->n < room)
            continue;
        char *grown = realloc(bytes, room *= 2);
        if (!grown) {
            free(bytes);
            return ENOMEM;
        }
        bytes = grown;
    }
    s->bytes = bytes;
    return 0;
}

int
source_read(struct source *s, const char *name, struct diag *d)
{
    *s = (struct source){ .name = name };
    bool standard = strcmp(name, "-") == 0;
    int fd = standard ? STDIN_FILENO : open(name, O_RDONLY | O_CLOEXEC);
    int e = fd < 0 ? errno : read_all(fd, s);
    if (!standard && fd >= 0)
        close(fd);
    if (e == 0)
        return 0;
    diag_say(d, DIAG_ERROR, nowhere, "file", "cannot be read: %s", strerror(e));
    *s = (struct source){ .name = name };
    return -1;
}

void
source_release(struct source *s)
{
    free(s->bytes);
    s->bytes = NULL;
    s->n = 0;
}
