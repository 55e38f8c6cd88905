#include "cmd.h"

#include "rodbook/seal.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { FILE_OPTION };

const struct cmd_option cmd_key_options[1] = {
    [FILE_OPTION] = { "file", "FILE", "the key is here, instead of the usual place" },
};

/* The folder that settings lie in (XDG Base Directory Specification 0.8: a path that is not absolute is passed over). */
static char *
usual_place(void)
{
    const char *config = getenv("XDG_CONFIG_HOME"), *home = getenv("HOME");
    char *place = NULL;
    int n = -1;
    if (config && config[0] == '/')
        n = asprintf(&place, "%s/rodbook/key", config);
    else if (home && home[0] == '/')
        n = asprintf(&place, "%s/.config/rodbook/key", home);
    return n < 0 ? NULL : place;
}

int
cmd_key_file(const struct cmd *cmd, const char *file, char **place)
{
    *place = file ? strdup(file) : usual_place();
    if (*place)
        return 0;
    fprintf(stderr, "rodbook %s: there is no home directory to keep a key in; say where with --%s FILE\n", cmd->name,
        cmd->run == cmd_key ? "file" : "key");
    return -1;
}

/* The directories above a file, for nobody else to look into; an errno, or 0. */
static int
make_directories(char *file)
{
    for (char *slash = strchr(file + 1, '/'); slash; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        int e = mkdir(file, 0700) != 0 ? errno : 0;
        *slash = '/';
        if (e != 0 && e != EEXIST)
            return e;
    }
    return 0;
}

static void
print_key(const struct seal_key *key, const char *file, bool made)
{
    char digits[2 * SEAL_KEY_BYTES + 1], words[DIGEST_SHORT_TEXT];
    digest_hex(digits, key->key, SEAL_KEY_BYTES);
    digest_short(words, key->key);
    printf("%s\n\n  public key:  %s\n  in short:    %s\n\n", made ? "A new key was made." : "There is a key, and nothing was changed.",
        digits, words);
    printf("Its secret lies in %s\n"
           "Keep it outside the job's folder, and a copy of it in a safe place: whoever has it can seal in your\n"
           "name, and without it nobody can. It never goes to anybody else.\n"
           "Give the public key to the customer and to the inspector, by hand or on paper. With it they can tell\n"
           "your seals from all others: rodbook audit --key PUBLICKEY FILE\n",
        cmd_file_name(file));
}

/* The key that is there, or else a new one. */
static int
find_key(struct seal_key *key, char *file, bool usual, bool *made, struct diag *d)
{
    struct stat st;
    *made = lstat(file, &st) != 0 && errno == ENOENT;
    if (!*made)
        return seal_key_read(key, file, d);
    int e = usual ? make_directories(file) : 0;
    if (e == 0)
        return seal_key_make(key, file, d);
    diag_say(d, DIAG_ERROR, (struct diag_place){ 0, 0 }, "key", "the folder for the key cannot be made: %s", strerror(e));
    return -1;
}

int
cmd_key(const struct cmd *cmd, int argc, char **argv)
{
    struct cmd_given given;
    struct seal_key key;
    struct diag d = { 0 };
    char *file = NULL;
    bool made = false;
    int status = cmd_parse(cmd, argc, argv, &given);
    if (status >= 0)
        return status;
    if (cmd_key_file(cmd, given.value[FILE_OPTION], &file) != 0)
        return EXIT_UNDONE;
    int rc = find_key(&key, file, !given.value[FILE_OPTION], &made, &d);
    if (rc == 0) {
        print_key(&key, file, made);
        seal_key_release(&key);
    }
    cmd_say(file, &d);
    diag_release(&d);
    free(file);
    return cmd_finish(rc == 0 ? EXIT_GOOD : EXIT_UNDONE);
}
