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

/* In one style, if that reads back as it is. */
static bool
reads_back(char out[LENGTH_TEXT], length value, struct length_style style, enum length_unit unit)
{
    length again = 0;
    size_t n = length_print(out, value, style);
    return length_read(out, n, unit, &again) == LENGTH_OK && again == value;
}

void
write_length(FILE *out, length value, enum length_unit unit)
{
    char text[LENGTH_TEXT];
    for (int places = 2; unit != LENGTH_BARE_FT_IN && places <= 9; places++)
        if (reads_back(text, value, (struct length_style){ unit == LENGTH_BARE_M ? LENGTH_AS_M : LENGTH_AS_FT, places, 0 }, unit)) {
            fputs(text, out);
            return;
        }
    if (unit != LENGTH_BARE_M && reads_back(text, value, (struct length_style){ LENGTH_AS_FT_IN, 0, 64 }, unit)) {
        fputs(text, out); /* plain in YAML: it begins with a digit or a sign */
        return;
    }
    length_print(text, value, (struct length_style){ LENGTH_AS_MM, 6, 0 });
    fprintf(out, "%s mm", text);
}

static void
write_serves(FILE *out, uint32_t serves)
{
    bool first = true;
    fputs("  for: [", out);
    for (int k = 0; k < RECORD_POINT_KINDS; k++)
        if (serves & (UINT32_C(1) << k)) {
            fprintf(out, "%s%s", first ? "" : ", ", record_kind_word((enum record_point_kind)k));
            first = false;
        }
    fputs("]\n", out);
}

void
write_grade(FILE *out, const struct write_grade *g, enum length_unit unit)
{
    int64_t rise = g->rise < 0 ? -g->rise : g->rise;
    fputs("grade:\n  name: ", out);
    write_scalar(out, g->name);
    fprintf(out, "\n  means: %s\n", g->subgrade ? "subgrade" : "finish");
    if (g->serves != 0)
        write_serves(out, g->serves);
    fputs("  level: ", out);
    write_length(out, g->level, unit);
    if (rise > 0)
        fprintf(out, "\n  slope: {%s: %" PRId64 " in %" PRId64 ", towards: %s}", g->rise < 0 ? "fall" : "rise", rise, g->run,
            g->across ? "width" : "length");
    if (g->tolerance)
        fprintf(out, "\n  tolerance: %s", g->tolerance);
    fputs("\n  note: ", out);
    write_scalar(out, g->note);
    fputc('\n', out);
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
