/*
 * disk.c - real file systems, mounted where only the case sees them
 *
 * Each case runs in a mount namespace of its own (unshare), so that nothing
 * stays mounted. It needs root; tmpfs and bind mounts also work in a user
 * namespace, where the system allows that.
 *
 * The power cut is real as far as the file system goes: ext4 is told to shut
 * down at once and to drop what it has not written (FS_IOC_SHUTDOWN without
 * a flush of its journal), is unmounted, mounted again, and recovers from its
 * journal. A file that was written without fsync() right before is the
 * control: if that survived, the cut would prove nothing.
 */
#include "faults.h"

#include <errno.h>
#include <fcntl.h>
#include <sched.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/mount.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

/* linux/fs.h has these only from 6.x on; ext4, f2fs and xfs share them. */
#define SHUTDOWN _IOR('X', 125, uint32_t)
#define SHUTDOWN_NOLOGFLUSH 2

/* ---- mounting ---- */

static bool
write_text(const char *file, const char *text)
{
    int fd = open(file, O_WRONLY | O_CLOEXEC);
    bool good = fd >= 0 && write(fd, text, strlen(text)) == (ssize_t)strlen(text);
    if (fd >= 0)
        close(fd);
    return good;
}

/* Mounts of our own from here on; false where that is not allowed. */
static bool
own_mounts(bool root_needed)
{
    char map[64];
    unsigned uid = getuid(), gid = getgid();
    if (unshare(CLONE_NEWNS) != 0) {
        if (root_needed || unshare(CLONE_NEWUSER | CLONE_NEWNS) != 0)
            return false;
        snprintf(map, sizeof map, "0 %u 1", uid);
        if (!write_text("/proc/self/setgroups", "deny") || !write_text("/proc/self/uid_map", map))
            return false;
        snprintf(map, sizeof map, "0 %u 1", gid);
        if (!write_text("/proc/self/gid_map", map))
            return false;
    }
    return mount(NULL, "/", NULL, MS_REC | MS_PRIVATE, NULL) == 0;
}

static void
skip(struct outcome *o, const char *why)
{
    if (!o->failed)
        snprintf(o->why, sizeof o->why, "%s: %s", why, strerror(errno));
}

/* A directory of the case, to mount on; the record stands there, what is said stays outside. */
static void
mounted_place(const struct place *at, struct place *on)
{
    char dir[PATH];
    snprintf(dir, sizeof dir, "%.480s/mounted", at->dir);
    place_make(on, dir);
    snprintf(on->out, sizeof on->out, "%s", at->out);
    snprintf(on->err, sizeof on->err, "%s", at->err);
    snprintf(on->log, sizeof on->log, "%s", at->log);
}

static int
run_quietly(const struct place *at, const char *const *argv)
{
    struct words w = { .n = 0 };
    while (*argv)
        words_add(&w, *argv++);
    struct ran r = run_words(at, NULL, &w);
    int status = r.status;
    ran_release(&r);
    return status;
}

static void
image_name(const struct place *at, char image[PATH])
{
    snprintf(image, PATH, "%.480s/image", at->dir);
}

static bool
make_image(const struct place *at, const char *size)
{
    char image[PATH];
    image_name(at, image);
    return run_quietly(at, (const char *const[]){ "truncate", "-s", size, image, NULL }) == 0
        && run_quietly(at, (const char *const[]){ "mkfs.ext4", "-q", "-F", "-m", "0", "-E", "lazy_itable_init=0", image, NULL }) == 0;
}

static bool
mount_image(const struct place *at, const struct place *on)
{
    char image[PATH];
    image_name(at, image);
    return run_quietly(at, (const char *const[]){ "mount", "-t", "ext4", "-o", "loop", image, on->dir, NULL }) == 0;
}

/* ---- a disk that fills up ---- */

#define MANY 400 /* lines; more than the small disks hold */

static char *
many_lines(void)
{
    char *text = calloc(MANY + 2, 40), *p = text;
    if (!text)
        abort();
    p += sprintf(p, "run\nbs BM1 4.601\n");
    for (int k = 0; k < MANY; k++)
        p += sprintf(p, "is F%d 3.%03d\n", k, k);
    return text;
}

/* Acknowledged in order, and there; the rest refused aloud. How many were acknowledged. */
static size_t
judge_full(const struct place *on, const struct look *before, const struct ran *r, struct outcome *o)
{
    static uint32_t number[MANY + 8];
    struct look l;
    char wanted[64];
    size_t n = acknowledged_numbers(r->out, number, MANY + 8), whole = 0;
    if (!look_open(&l, on->record)) {
        fail(o, "the record is not there");
        return 0;
    }
    for (size_t i = 0; i < l.entries; i++) {
        whole += l.entry[i].whole;
        if (!l.entry[i].whole || !l.entry[i].fits)
            fail(o, "entry %zu is not whole, or its digest does not fit", i + 1);
    }
    for (size_t k = 0; k < n; k++) {
        snprintf(wanted, sizeof wanted, k == 0 ? "{at: BM1, bs: 4.601}" : "{at: F%zu, is: 3.%03zu}", k - 1, k - 1);
        if (number[k] < 1 || number[k] > l.entries || !look_has(&l, &l.entry[number[k] - 1], wanted))
            fail(o, "LOST: entry %u does not hold %s", number[k], wanted);
    }
    if (whole != before->entries + n)
        fail(o, "%zu entries acknowledged, and %zu new ones in the record", n, whole - before->entries);
    if (l.n < before->n || memcmp(l.bytes, before->bytes, before->n) != 0)
        fail(o, "what stood in the record before was changed");
    o->acknowledged = (uint16_t)n;
    look_release(&l);
    return n;
}

/* Fill the disk by booking; make room; go on. */
static void
fill(const struct place *on, struct outcome *o, bool (*make_room)(const struct place *on))
{
    struct look before, after;
    char *input = many_lines();
    if (command_prepare(&commands[0], (struct place *)on, o) != 0) {
        free(input);
        return;
    }
    (void)look_open(&before, on->record);
    struct ran r = run_rodbook(on, input, (const char *const[]){ "book", "--by", "RO", "@" RECORD, NULL });
    size_t n = judge_full(on, &before, &r, o);
    if (n < 10 || n >= MANY + 1)
        fail(o, "%zu of %d lines were acknowledged: the disk did not fill up on the way", n, MANY + 1);
    if (r.status != 1)
        fail(o, "status %d: %.300s", r.status, r.err);
    if (!strstr(r.err, "No space left on device"))
        fail(o, "it was not told: %.300s", r.err);
    ran_release(&r);
    if (!make_room(on))
        fail(o, "no room could be made: %s", strerror(errno));
    r = run_rodbook(on, "run\nbs BM1 4.700\nis G1 3.700\n", (const char *const[]){ "book", "--by", "RO", "@" RECORD, NULL });
    if (r.status != 0)
        fail(o, "it does not go on once there is room: status %d: %.300s", r.status, r.err);
    if (!look_open(&after, on->record) || after.entries != before.entries + n + 2 || !after.entry[after.entries - 1].fits)
        fail(o, "what was booked once there is room is not there");
    ran_release(&r);
    look_release(&before);
    look_release(&after);
    free(input);
}

static bool
larger_tmpfs(const struct place *on)
{
    return mount("none", on->dir, "tmpfs", MS_REMOUNT, "size=256k") == 0;
}

static void
full_tmpfs(struct place *at, struct outcome *o)
{
    struct place on;
    mounted_place(at, &on);
    if (!own_mounts(false) || mount("none", on.dir, "tmpfs", 0, "size=16k") != 0)
        skip(o, "a tmpfs cannot be mounted here");
    else
        fill(&on, o, larger_tmpfs);
}

static bool
without_ballast(const struct place *on)
{
    char file[PATH + 32];
    snprintf(file, sizeof file, "%s/ballast", on->dir);
    return unlink(file) == 0;
}

/* Take all the room but for a few blocks. */
static bool
put_ballast(const struct place *on)
{
    static const char block[1024];
    char file[PATH + 32];
    snprintf(file, sizeof file, "%s/ballast", on->dir);
    int fd = open(file, O_WRONLY | O_CREAT | O_CLOEXEC, 0644);
    off_t n = 0;
    while (fd >= 0 && write(fd, block, sizeof block) == (ssize_t)sizeof block)
        n += (off_t)sizeof block;
    bool good = fd >= 0 && errno == ENOSPC && n > 40960 && ftruncate(fd, n - 40960) == 0 && fsync(fd) == 0;
    if (fd >= 0)
        close(fd);
    return good;
}

static bool
mount_ext4(struct place *at, struct place *on, const char *size, struct outcome *o)
{
    mounted_place(at, on);
    if (!own_mounts(true))
        skip(o, "nothing can be mounted here without being root");
    else if (!make_image(at, size))
        skip(o, "mkfs.ext4 is not here");
    else if (!mount_image(at, on))
        skip(o, "a file cannot be mounted as a disk here");
    else
        return true;
    return false;
}

static void
full_ext4(struct place *at, struct outcome *o)
{
    struct place on;
    if (!mount_ext4(at, &on, "4M", o))
        return;
    if (!put_ballast(&on))
        fail(o, "the disk could not be filled: %s", strerror(errno));
    else
        fill(&on, o, without_ballast);
}

/* ---- a disk that is read only ---- */

static void
read_only(struct place *at, struct outcome *o)
{
    struct place on;
    size_t n, k;
    mounted_place(at, &on);
    if (command_prepare(&commands[0], &on, o) != 0)
        return;
    char *was = file_read(on.record, &n);
    if (!own_mounts(false) || mount(on.dir, on.dir, NULL, MS_BIND, NULL) != 0
        || mount(NULL, on.dir, NULL, MS_REMOUNT | MS_BIND | MS_RDONLY, NULL) != 0) {
        skip(o, "a directory cannot be mounted read-only here");
        free(was);
        return;
    }
    static const char *const writes[][12] = {
        { "book", "--by", "RO", "@" RECORD },
        { "strike", "--row", "4.1", "--reason", "nail head", "--by", "RO", "@" RECORD },
        { "new", "--job", "Tool store", "--unit", "ft", "--least", "0.001", "@other.yaml" },
    };
    for (size_t i = 0; i < sizeof writes / sizeof writes[0]; i++) {
        struct ran r = run_rodbook(&on, "bs BM1 4.601\n", writes[i]);
        if (r.status != 2 || !strstr(r.err, "Read-only file system"))
            fail(o, "rodbook %s: status %d: %s", writes[i][0], r.status, r.err);
        ran_release(&r);
    }
    struct ran r = run_rodbook(&on, NULL, (const char *const[]){ "check", "@" RECORD, NULL });
    if (r.status != 0)
        fail(o, "what cannot be written can still be read: status %d: %s", r.status, r.err);
    ran_release(&r);
    char *is = file_read(on.record, &k);
    if (!is || k != n || memcmp(is, was, n) != 0)
        fail(o, "the record was changed");
    free(was);
    free(is);
}

/* ---- the power is cut ---- */

static int
cut_power(const struct place *on)
{
    uint32_t how = SHUTDOWN_NOLOGFLUSH;
    int fd = open(on->dir, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    int rc = fd >= 0 ? ioctl(fd, SHUTDOWN, &how) : -1;
    if (fd >= 0)
        close(fd);
    return rc;
}

struct ready {
    struct place from;
};

/* Kill the command at a call, cut the power at once, and look what the disk has. */
static void
power_case(const struct one *one, struct place *at, struct outcome *o)
{
    const struct ready *ready = one->with;
    struct place on;
    struct look before;
    char control[PATH + 32];
    if (!mount_ext4(at, &on, "8M", o))
        return;
    place_copy(&ready->from, &on);
    sync();
    (void)look_open(&before, on.record);
    snprintf(control, sizeof control, "%s/control", on.dir);
    char *input = command_input(one->command);
    struct words w = { .n = 0 };
    words_strace(&w, &on);
    words_add(&w, "-e");
    words_form(&w, "inject=%s:signal=SIGKILL:when=%ld", one->call, one->n);
    words_of(&w, &on, one->command->argv);
    struct ran r = run_words(&on, input, &w);
    if (r.status != 128 + 9)
        fail(o, "it was not killed: status %d: %s", r.status, r.err);
    (void)file_write(control, "not synced\n", 11);
    if (cut_power(&on) != 0) {
        skip(o, "this ext4 cannot be shut down");
    } else if (umount(on.dir) != 0 || !mount_image(at, &on)) {
        fail(o, "the disk does not come back: %s", strerror(errno));
    } else {
        struct stat st;
        if (stat(control, &st) == 0 && st.st_size > 0)
            fail(o, "the control outlived the cut, which proves nothing then");
        judge(one->command, &on, &before, &r, (struct allowed){ .unacknowledged = 1, .torn = true }, NULL, o);
    }
    look_release(&before);
    ran_release(&r);
    free(input);
    (void)umount(on.dir);
}

static void
plan_power(struct plan *p, const struct command *c)
{
    struct outcome o = { 0 };
    struct place trial;
    struct call *calls = NULL;
    struct words w = { .n = 0 };
    struct ready *ready = calloc(1, sizeof *ready);
    if (!ready)
        abort();
    plan_place(p, &ready->from);
    plan_place(p, &trial);
    if (command_prepare(c, &ready->from, &o) != 0) {
        plan_fault(p, o.why);
        return;
    }
    place_copy(&ready->from, &trial);
    words_strace(&w, &trial);
    words_of(&w, &trial, c->argv);
    char *input = command_input(c);
    struct ran r = run_words(&trial, input, &w);
    size_t n = trace_read(trial.log, trial.record, &calls);
    for (size_t i = 0; i < n; i++) {
        struct one *one = plan_add(p, c, ready, "%s/%ld", calls[i].name, calls[i].n);
        one->call = strdup(calls[i].name);
        one->n = calls[i].n;
    }
    free(calls);
    free(input);
    ran_release(&r);
}

/* ---- the list ---- */

static const struct disk {
    const char *name;
    void (*run)(struct place *at, struct outcome *o);
} disks[] = {
    { "full-tmpfs", full_tmpfs },
    { "full-ext4", full_ext4 },
    { "read-only", read_only },
};

static void
plan_disk(struct plan *p, const struct command *c)
{
    (void)c;
    for (size_t i = 0; i < sizeof disks / sizeof disks[0]; i++)
        plan_add(p, NULL, &disks[i], "%s", disks[i].name);
}

/* In a process of its own, whose mounts end with it; `o` is shared. */
static void
in_a_child(const struct one *one, struct place *at, struct outcome *o, bool power)
{
    fflush(NULL);
    pid_t pid = fork();
    if (pid == 0) {
        if (power)
            power_case(one, at, o);
        else
            ((const struct disk *)one->with)->run(at, o);
        _exit(0);
    }
    int status = 0;
    if (waitpid(pid, &status, 0) != pid || status != 0)
        fail(o, "the case did not come to its end");
}

static void
disk_one(const struct one *one, struct place *at, struct outcome *o)
{
    in_a_child(one, at, o, false);
}

static void
power_one(const struct one *one, struct place *at, struct outcome *o)
{
    in_a_child(one, at, o, true);
}

const struct group disk_group = { .name = "disk", .quick = 1, .plan = plan_disk, .run = disk_one };
const struct group power_group = { .name = "power", .strace = true, .commands = true, .quick = 0, .plan = plan_power, .run = power_one };
