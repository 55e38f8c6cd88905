/*
 * short.c - a disk that writes little at a time, fills up, fails or is slow
 *
 * Loaded before the program's own libraries; only calls on the file named
 * by FAULT_FILE (or on a draft whose name begins with it) are touched, the
 * bytes that are said to be written are really written.
 *
 *   FAULT_STEP    at most so many bytes a write
 *   FAULT_ENTRY   the fault comes when so many fsync() have succeeded...
 *   FAULT_BYTES   ...and so many bytes were written since: write() stops there,
 *   FAULT_THEN    and then fails once with this errno, or kills the program (0)
 *   FAULT_SYNC    fsync() fails with this errno, at FAULT_ENTRY
 *   FAULT_CUT     ftruncate() fails with this errno, always
 *   FAULT_SLOW    fsync() takes so many milliseconds, and says so in FAULT_MARK,
 *                 a file that is made while it waits
 */
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

static long synced, since; /* fsync() that succeeded; bytes since the last */
static bool over;          /* the fault has been */

static long
number(const char *name)
{
    const char *text = getenv(name);
    return text ? strtol(text, NULL, 10) : -1;
}

static bool
is_ours(int fd)
{
    char link[64], path[4096];
    const char *ours = getenv("FAULT_FILE");
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t n = ours ? readlink(link, path, sizeof path - 1) : -1;
    if (n < 0)
        return false;
    path[n] = '\0';
    return strncmp(path, ours, strlen(ours)) == 0;
}

static ssize_t
fault(void)
{
    long then = number("FAULT_THEN");
    over = true;
    if (then == 0)
        kill(getpid(), SIGKILL);
    errno = (int)then;
    return -1;
}

ssize_t
write(int fd, const void *bytes, size_t n)
{
    if (!is_ours(fd))
        return syscall(SYS_write, fd, bytes, n);
    long step = number("FAULT_STEP"), stop = number("FAULT_BYTES");
    if (step > 0 && n > (size_t)step)
        n = (size_t)step;
    if (!over && stop >= 0 && synced == number("FAULT_ENTRY")) {
        if (since == stop)
            return fault();
        if (n > (size_t)(stop - since))
            n = (size_t)(stop - since);
    }
    ssize_t k = syscall(SYS_write, fd, bytes, n);
    since += k > 0 ? k : 0;
    if (!over && stop >= 0 && since == stop && number("FAULT_THEN") == 0 && synced == number("FAULT_ENTRY"))
        return fault(); /* killed at once: an entry may end here */
    return k;
}

static void
wait_slowly(long milliseconds)
{
    const char *mark = getenv("FAULT_MARK");
    struct timespec left = { milliseconds / 1000, milliseconds % 1000 * 1000000 };
    int fd = mark ? open(mark, O_WRONLY | O_CREAT | O_CLOEXEC, 0600) : -1;
    if (fd >= 0)
        close(fd);
    while (nanosleep(&left, &left) != 0)
        ;
    if (mark)
        unlink(mark);
}

int
fsync(int fd)
{
    if (!is_ours(fd))
        return (int)syscall(SYS_fsync, fd);
    if (number("FAULT_SLOW") > 0)
        wait_slowly(number("FAULT_SLOW"));
    if (!over && number("FAULT_SYNC") > 0 && synced == number("FAULT_ENTRY")) {
        over = true;
        errno = (int)number("FAULT_SYNC");
        return -1;
    }
    int rc = (int)syscall(SYS_fsync, fd);
    synced += rc == 0;
    since = rc == 0 ? 0 : since;
    return rc;
}

int
ftruncate(int fd, off_t size)
{
    if (is_ours(fd) && number("FAULT_CUT") > 0) {
        errno = (int)number("FAULT_CUT");
        return -1;
    }
    return (int)syscall(SYS_ftruncate, fd, size);
}
