/* records.c - write the records of hard.h into a directory: records DIR */
#include "../hard.h"

#include <stdbool.h>

static void
write_one(void *with, const char *title, const char *bytes, size_t n)
{
    char name[512];
    snprintf(name, sizeof name, "%s/%s.yaml", (const char *)with, title);
    for (char *p = name + strlen((const char *)with); *p; p++)
        if (*p == ' ')
            *p = '-';
    FILE *f = fopen(name, "wb");
    if (!f || fwrite(bytes, 1, n, f) != n || fclose(f) != 0) {
        perror(name);
        exit(1);
    }
}

int
main(int argc, char **argv)
{
    if (argc != 2)
        return 2;
    hard_each(write_one, argv[1]);
    return 0;
}
