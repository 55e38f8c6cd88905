/* result.c - files that can be made again */
#include "cmd.h"

#include <errno.h>
#include <fcntl.h>
#include <libgen.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static int
say(const struct cmd *cmd, const char *file, const char *what)
{
    fprintf(stderr, "rodbook %s: %s: %s\n", cmd->name, cmd_file_name(file), what);
    return -1;
}

/* All of it on the disk. */
static int
settle(const struct cmd *cmd, const char *draft, FILE *out)
{
    bool whole = fflush(out) == 0 && !ferror(out) && fsync(fileno(out)) == 0;
    int fault = errno;
    if (fclose(out) != 0 && whole) {
        fault = errno;
        whole = false;
    }
    return whole ? 0 : say(cmd, draft, strerror(fault));
}

/* The name, too. Where a directory cannot be synced there is nothing more to be done: the file itself is whole. */
static void
settle_name(const char *file)
{
    char *copy = strdup(file);
    int fd = copy ? open(dirname(copy), O_RDONLY | O_DIRECTORY | O_CLOEXEC) : -1;
    if (fd >= 0) {
        (void)fsync(fd);
        (void)close(fd);
    }
    free(copy);
}

static int
write_draft(const struct cmd *cmd, const char *draft, int (*write)(void *with, FILE *out), void *with)
{
    FILE *out = fopen(draft, "wxe");
    if (!out)
        return say(cmd, draft, errno == EEXIST ? "is in the way: another rodbook writes it, or was cut off; remove it" : strerror(errno));
    if (write(with, out) != 0) {
        (void)fclose(out);
        return -1;
    }
    return settle(cmd, draft, out);
}

int
cmd_write_result(const struct cmd *cmd, const char *file, int (*write)(void *with, FILE *out), void *with)
{
    char *draft = NULL;
    if (asprintf(&draft, "%s.tmp", file) < 0)
        return say(cmd, file, "out of memory [memory]");
    bool ours = access(draft, F_OK) != 0;
    int rc = write_draft(cmd, draft, write, with);
    if (rc == 0 && rename(draft, file) != 0)
        rc = say(cmd, file, strerror(errno));
    if (rc == 0)
        settle_name(file);
    else if (ours)
        (void)unlink(draft);
    free(draft);
    return rc;
}
