#include "rodbook/write.h"

#include "fields.h"

#include <inttypes.h>
#include <string.h>
#include <time.h>

/* Words that readers of YAML take for something else than text (YAML 1.1 and 1.2 core schema). */
static bool
is_typed_word(const char *text)
{
    static const char *const words[] = { "true", "false", "null", "yes", "no", "on", "off", "y", "n" };
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (strcasecmp(words[i], text) == 0)
            return true;
    return false;
}

/* A letter first, then nothing that YAML or a number could make something of. */
static bool
is_plain_scalar(const char *text)
{
    size_t n = strlen(text);
    bool letter = (text[0] >= 'A' && text[0] <= 'Z') || (text[0] >= 'a' && text[0] <= 'z');
    if (!letter || text[n - 1] == ' ' || is_typed_word(text))
        return false;
    for (size_t i = 0; i < n; i++)
        if ((unsigned char)text[i] < 0x80 && !strchr("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789 ._+/()'-", text[i]))
            return false;
    return true;
}

void
write_scalar(FILE *out, const char *text)
{
    if (is_plain_scalar(text)) {
        fputs(text, out);
        return;
    }
    fputc('"', out);
    for (; *text; text++) {
        if (*text == '"' || *text == '\\')
            fputc('\\', out);
        fputc(*text, out);
    }
    fputc('"', out);
}

static void
head_line(FILE *out, const char *key, const char *text)
{
    if (!text[0])
        return;
    fprintf(out, "  %s: ", key);
    write_scalar(out, text);
    fputc('\n', out);
}

void
write_levels(FILE *out, const struct write_head *head, uint32_t continues)
{
    fputs("levels:\n", out);
    if (continues > 0) {
        fprintf(out, "  continues: %" PRIu32 "\n", continues);
    } else {
        if (head->date[0])
            fprintf(out, "  date: %s\n", head->date);
        head_line(out, "instrument", head->instrument);
        head_line(out, "observer", head->observer);
        head_line(out, "rodman", head->rodman);
        head_line(out, "weather", head->weather);
        head_line(out, "note", head->note);
    }
    fputs("  readings:\n", out);
}

/* A length as it was said; an inch sign at its end is no quote where the text does not begin with one. */
static void
write_sight(FILE *out, const char *key, const struct write_sight *s)
{
    if (s->wires == 1)
        fprintf(out, ", %s: %s", key, s->text[0]);
    else if (s->wires == 3)
        fprintf(out, ", %s: [%s, %s, %s]", key, s->text[0], s->text[1], s->text[2]);
}

void
write_row(FILE *out, const struct write_row *row)
{
    bool turn = row->fs.wires > 0 && row->bs.wires > 0;
    const char *dist = row->fs.wires > 0 ? row->fs.dist : row->is.wires > 0 ? row->is.dist : row->bs.dist;
    fputs("    - {at: ", out);
    write_scalar(out, row->at);
    if (row->on != RECORD_ON_MARK)
        fprintf(out, ", on: %s", record_on_word(row->on));
    write_sight(out, "is", &row->is);
    write_sight(out, "fs", &row->fs);
    write_sight(out, "bs", &row->bs);
    if (!turn && dist[0])
        fprintf(out, ", dist: %s", dist);
    if (turn && row->fs.dist[0])
        fprintf(out, ", fs-dist: %s", row->fs.dist);
    if (turn && row->bs.dist[0])
        fprintf(out, ", bs-dist: %s", row->bs.dist);
    if (row->moved)
        fputs(", moved: true", out);
    if (row->page > 0)
        fprintf(out, ", page: %" PRIu32, row->page);
    if (row->note[0]) {
        fputs(", note: ", out);
        write_scalar(out, row->note);
    }
    if (row->for_row > 0)
        fprintf(out, ", for: {entry: %" PRIu32 ", row: %" PRIu32 "}", row->for_entry, row->for_row);
    fputs("}\n", out);
}

void
write_strike(FILE *out, uint32_t entry, uint32_t row, enum record_sight sight, const char *reason)
{
    fprintf(out, "strike: {entry: %" PRIu32 ", row: %" PRIu32 ", ", entry, row);
    if (sight != RECORD_WHOLE_ROW)
        fprintf(out, "sight: %s, ", sight == RECORD_SIGHT_BS ? "bs" : "fs");
    fputs("reason: ", out);
    write_scalar(out, reason);
    fputs("}\n", out);
}

bool
write_is_day(const char *text)
{
    return is_day(text, strlen(text));
}

void
write_envelope(FILE *out, const char *by)
{
    char stamp[32];
    time_t now = time(NULL);
    struct tm tm;
    if (by && by[0]) {
        fputs("by: ", out);
        write_scalar(out, by);
        fputc('\n', out);
    }
    if (now != (time_t)-1 && gmtime_r(&now, &tm) && strftime(stamp, sizeof stamp, "%Y-%m-%dT%H:%M:%SZ", &tm) > 0)
        fprintf(out, "time: %s\n", stamp);
}
