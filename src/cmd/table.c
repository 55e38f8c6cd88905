/* table.c - every command, and its help */
#include "cmd.h"

#define OPTIONS(list) (list), sizeof(list) / sizeof((list)[0])

const struct cmd cmd_table[] = {
    { "new", cmd_new, "[--job NAME --unit UNIT --least LENGTH ...] FILE", "make a job, by asking or from options",
        "Asks for the job's name, unit, rod, allowable misclosure, benchmark and grade, and makes the record. With --job\n"
        "nothing is asked. A file that is there already is never written over.",
        "rodbook new --job \"Tool store\" --unit ft --least 0.01 --benchmark \"BM1 100.000\" store.yaml",
        OPTIONS(cmd_new_options), CMD_ONE_FILE },
    { "book", cmd_book, "[--by INITIALS] [--instrument NAME] [...] FILE", "book readings at the rod, line by line",
        "One short line a reading, in the order in which it is called: bs BM1 4.62, is batten SW1 3.14,\n"
        "tp TP1 5.87 4.15, fs BM1 2.91. Each is answered once it is on the disk, with the height of instrument or the\n"
        "elevation, the move to grade, and the page check. Goes on where the record stops. The line help shows more.",
        "rodbook book --by RO --instrument T1 store.yaml", OPTIONS(cmd_book_options), CMD_ONE_FILE },
    { "strike", cmd_strike, "--row ENTRY.ROW [--sight bs|fs] --reason TEXT --by INITIALS FILE", "strike a reading; nothing is erased",
        "Adds an entry that strikes the row. It stays in the book, struck, with the reason and the initials.",
        "rodbook strike --row 5.3 --reason \"rod stood on a clod\" --by RO store.yaml", OPTIONS(cmd_strike_options), CMD_ONE_FILE },
    { "reduce", cmd_reduce, "[--form FORM] [--spread-anyway] [--json | --csv TABLE] FILE", "reduce the field book, with its page checks",
        "Prints every run of levels as a field book, by height of instrument and by rise and fall, struck readings\n"
        "shown struck, with the page check by three routes; then how each loop and link closes, and all elevations.",
        "rodbook reduce surveys/fernhill.yaml", OPTIONS(cmd_reduce_options), CMD_ONE_FILE },
    { "close", cmd_close, "[--spread-anyway] [--json | --csv TABLE] FILE", "close loops and links, and spread the misclosure",
        "Prints the misclosure of every loop and link against what the job allows, the running correction after each\n"
        "set-up, and all elevations. A line outside its limit is not spread, and the exit status is 1.",
        "rodbook close surveys/fernhill.yaml", OPTIONS(cmd_close_options), CMD_ONE_FILE },
    { "adjust", cmd_adjust, "[--confidence PERCENT] [--json | --csv TABLE] FILE", "adjust the whole job by least squares, and test it",
        "Adjusts all readings, sections and marks at once, and says how sure each elevation is, whether they fit together\n"
        "as they should, which observation stands out, how each loop closes, and what nothing checks. Exit status 1 when\n"
        "they do not fit, an observation stands out, or a loop is outside its limit.",
        "rodbook adjust surveys/fernhill.yaml", OPTIONS(cmd_adjust_options), CMD_ONE_FILE },
    { "suspects", cmd_suspects, "[--json | --csv TABLE] FILE", "which reading most likely did it, where something does not close",
        "Tries the usual slips (a foot misread, digits exchanged, inches booked as tenths ...) on every reading, and lists\n"
        "those that bring every loop through that reading within its limit, the likeliest first; what to shoot again; and\n"
        "what is cleared. The record is not changed. Exit status 1 when something is outside its limit.",
        "rodbook suspects surveys/fernhill.yaml", OPTIONS(cmd_suspects_options), CMD_ONE_FILE },
    { "plan", cmd_plan, "[--confidence PERCENT] [--json | --csv TABLE] FILE", "how sure the marks will be, before you go out",
        "Works every plan of the record out, set-ups that are meant to be read: the standard deviation at each mark, the\n"
        "misclosure to expect and how large a one is still ordinary, the marks that will stay unsure against their grade's\n"
        "tolerance, and which further reading would help most. Exit status 1 where a plan is not good enough.",
        "rodbook plan morning.yaml", OPTIONS(cmd_plan_options), CMD_ONE_FILE },
    { "site", cmd_site, "[--json | --csv TABLE] FILE", "set the building out: lengths, diagonals, strings, battens, posts",
        "From the record's last site entry: every side and diagonal to tape, where each string crosses its battens, where each\n"
        "post falls along its string as running distances from one end, door openings, and x and y of every point. Exit\n"
        "status 1 where a batten stands nearer than the set-back.",
        "rodbook site surveys/fernhill.yaml", OPTIONS(cmd_site_options), CMD_ONE_FILE },
    { "square", cmd_square, "[--confidence PERCENT] [--json | --csv TABLE] FILE", "is what was taped square, and which stakes to move",
        "Puts the tape's corrections to every taped length, fits each frame of four points by least squares, and says how far\n"
        "every corner is out of square and every side off; whether the lengths can belong to one frame at all, and if not what\n"
        "to tape again; which stakes to slide, how far and which way; and what the six lengths will be then. A frame taped\n"
        "again is held against the slide that was asked. Exit status 1 where something is not surely within its tolerances, lacks\n"
        "lengths, or does not fit.",
        "rodbook square surveys/fernhill.yaml", OPTIONS(cmd_square_options), CMD_ONE_FILE },
    { "stakes", cmd_stakes, "[--grade NAME] [--setup ENTRY.N] [--confidence PERCENT] [--judge] [--spread-anyway] [--json | --csv TABLE] FILE",
        "how far to move each batten, post mark and stake to grade",
        "Prints cut or fill at every mark, the move as a crew says it with its standard deviation, and the grade rod that\n"
        "puts the mark on grade. Where the readings cannot tell whether to move a mark it says ?, and which reading to add.\n"
        "A mark read again after it was moved is compared with the move that was asked.",
        "rodbook stakes --setup 5.1 surveys/fernhill.yaml", OPTIONS(cmd_stakes_options), CMD_ONE_FILE },
    { "grade", cmd_grade, "[--clear LENGTH] [--under LENGTH] [--slope-most SLOPE] [...] [--take N --name NAME] FILE",
        "what the grade could be, from ground shots; and take one",
        "Works out five grades from the ground shots: the lowest level string that clears the ground, the level that balances\n"
        "cut and fill, slopes along the length and the width that balance, and the highest level that the posts reach. Each\n"
        "with cut and fill, deepest hole, longest post, and whether water runs off. With --take the crew's choice is booked.",
        "rodbook grade --clear \"6 in\" --under \"4 in\" surveys/fernhill.yaml", OPTIONS(cmd_grade_options), CMD_ONE_FILE },
    { "pad", cmd_pad, "[--spread-anyway] [--json | --csv TABLE] FILE", "cut, fill and stone of the pad",
        "Holds the ground that was shot against the grade that the pad is dug to: cut or fill at each spot, the volumes over\n"
        "squares where the spots make a grid, over triangles where they do not, how sure they are, and the stone on it. Spots\n"
        "that are missing are named, and nothing stands in for them: exit status 1.",
        "rodbook pad surveys/fernhill.yaml", OPTIONS(cmd_pad_options), CMD_ONE_FILE },
    { "posts", cmd_posts, "[--grade NAME] [--setup ENTRY.N] [--confidence PERCENT] [--spread-anyway] [--json | --csv TABLE] FILE",
        "how deep each hole is and should be, and where its post's mark and cut come",
        "Prints for every post the depth of its hole below ground and below grade, whether it is deep enough beyond doubt\n"
        "or how much to dig, the rod reading that is deep enough, the height of the mark above the post's foot, the length\n"
        "needed and what to cut off. Before the holes are dug: the same as it will be at the depth asked for. Exit status 1\n"
        "where a hole is not surely deep enough, a post is too short, or a level that is needed is missing.",
        "rodbook posts --confidence 99 surveys/fernhill.yaml", OPTIONS(cmd_posts_options), CMD_ONE_FILE },
    { "concrete", cmd_concrete, "[--spread-anyway] [--json | --csv TABLE] FILE", "concrete for the holes: volumes, bags, a load, spoil",
        "Prints what each hole takes, by its depth as read or as asked for, less the post; the whole with waste, in bags of\n"
        "the yield that is stated or as a load in whole steps; and what is dug. Exit status 1 where a hole is left out.",
        "rodbook concrete surveys/fernhill.yaml", OPTIONS(cmd_concrete_options), CMD_ONE_FILE },
    { "run", cmd_run, "[--grade NAME] [--confidence PERCENT] [--json | --csv TABLE] FILE", "how the posts of a row stand: line, height, plumb, and which is the rogue",
        "Holds each row of posts that was measured (set entries) against its string, against the straight line that the posts\n"
        "make themselves, against grade and against plumb: before the concrete sets, and the next day. One bad post does not\n"
        "bend that line. Names the post that is off beyond the stated tolerance and beyond doubt, and which way to push it;\n"
        "compares with the measurement before. Exit status 1 where something is off, not sure, or not measured.",
        "rodbook run surveys/fernhill.yaml", OPTIONS(cmd_run_options), CMD_ONE_FILE },
    { "sheet", cmd_sheet, "[--show SHEETS] [--paper a4|letter] [--landscape] [--grade NAME] [--confidence PERCENT] [--spread-anyway] "
        "-o FILE FILE", "sheets to carry, as PDF, SVG, PNG or HTML",
        "Draws the stake sheet (moves in large type, marks by need and in walking order) and what else the record has\n"
        "something for, and writes it to the file named. SVG and PNG hold one page each: of several, page 2 is named\n"
        "NAME-2.svg. The same record gives the same bytes.",
        "rodbook sheet -o stakes.pdf surveys/fernhill.yaml", OPTIONS(cmd_sheet_options), CMD_ONE_FILE },
    { "check", cmd_check, "[--history] FILE...", "report every fault in record files",
        "Reads each record, works it out, and reports every fault with its line and column. Exit status 1 for any.",
        "rodbook check surveys/fernhill.yaml", OPTIONS(cmd_check_options), CMD_MANY_FILES },
    { "import", cmd_import, "[--by INITIALS] [--date DAY] [--instrument NAME] [--observer NAME] [--rodman NAME] [--weather TEXT] "
        "[--note TEXT] FROM JOB", "bring readings from a file into a record, under digests",
        "FROM ends in .csv: rows of readings, as docs/import.md has them, are added to the record JOB. Else FROM is a record\n"
        "written by hand, or entries of one: they are added to JOB as they stand, each under its digest, or JOB is made of\n"
        "them where it is not there yet. All of FROM is read and worked out first; with any fault nothing is added.",
        "rodbook import --by VT --date 2026-06-09 surveys/quay-evening.csv quay.yaml", OPTIONS(cmd_import_options), CMD_TWO_FILES },
    { "key", cmd_key, "[--file FILE]", "make the crew's key, or show its public key",
        "Makes the key that rodbook seal signs with, where there is none yet, and prints its public key. The secret\n"
        "stays in $XDG_CONFIG_HOME/rodbook/key, or ~/.config/rodbook/key; it is never written over.",
        "rodbook key", OPTIONS(cmd_key_options), CMD_NO_FILE },
    { "seal", cmd_seal, "[--key FILE] [--by INITIALS] FILE", "close a day's work with the crew's signature",
        "Appends an entry that signs all that stands above it, entries written by hand included, and prints its digest\n"
        "in short, to be copied on paper. A record with errors, or one that was altered, is not sealed.",
        "rodbook seal --by RO job.yaml", OPTIONS(cmd_seal_options), CMD_ONE_FILE },
    { "audit", cmd_audit, "[--paper DIGITS] [--key KEY] [--digests] [--json | --csv TABLE] FILE", "what was sealed, struck, torn or altered, and by whom",
        "Holds every digest and signature against the bytes of the record, and tells what is sealed, by whom and when;\n"
        "what was added since; what was written by hand, struck or torn; and where anything was altered. Exit status 1\n"
        "when something does not fit. docs/audit.md says what an audit proves.",
        "rodbook audit --paper '12: 3f2a 91bc 07de 44a1 9c0e 55d2' job.yaml", OPTIONS(cmd_audit_options), CMD_ONE_FILE },
};
const size_t cmd_count = sizeof cmd_table / sizeof cmd_table[0];

void
cmd_print_help(const struct cmd *cmd, FILE *out)
{
    fprintf(out, "usage: rodbook %s %s\n\n%s\n", cmd->name, cmd->usage, cmd->about);
    for (size_t i = 0; i < cmd->option_count; i++) {
        const struct cmd_option *o = &cmd->options[i];
        char word[48], letter[8] = "";
        if (cmd_option_letter(o))
            snprintf(letter, sizeof letter, "-%c, ", cmd_option_letter(o));
        snprintf(word, sizeof word, "%s--%s%s%s", letter, o->name, o->value ? " " : "", o->value ? o->value : "");
        fprintf(out, "%s  %-18s %s\n", i == 0 ? "\n" : "", word, o->help);
    }
    fprintf(out, "\nexample: %s\n", cmd->example);
}
