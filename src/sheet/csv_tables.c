/*
 * csv_tables.c - which tables each command has as CSV
 *
 * A table is a list of the command's JSON, or one object of it: where it
 * stands there (keys with dots between them, "" for the whole), and the keys
 * that become columns. Behind a key: @ where it is a length, @2 an area, @3 a
 * volume. Before it: ! where objects without it are no rows of the table, ^
 * where it stands in the object around the list.
 */
#include "rodbook/sheet.h"

#include <string.h>

static const char runs[] = "entry,from,from_on,to,to_on,kind,setups,dist@,sum_bs@,sum_fs@,sum_rise@,sum_fall@,misclosure@,allowed@,"
                           "within,spread,closure,corrections@";
static const char points[] = "at,on,position,elevation@,correction@,adjusted@,sigma@,closure,readings,apart@,mark";

#define ADVICE "doubts,read,at,on,backsight,setup,settles,worst@,left@"

const struct sheet_table sheet_tables[] = {
    { "reduce", "readings", "book",
        "entry,row,!at,on,bs@,is@,fs@,bs_dist@,dist@,hi@,rise@,fall@,elevation@,struck" },
    { "reduce", "sections", "book", "entry,row,!from,to,rise@,fall@,dist@,setups,elevation@,struck" },
    { "reduce", "checks", "book", "check_page,check_piece,first@,sum_bs@,sum_fs@,sum_rise@,sum_fall@,last@,!agrees" },
    { "reduce", "runs", "runs", runs },
    { "reduce", "points", "points", points },

    { "close", "runs", "runs", runs },
    { "close", "points", "points", points },

    { "stakes", "stakes", "stakes",
        "at,on,line,means,adjusted@,grade@,cut@,fill@,move@,move_text,grade_rod@,setup,longer_than_rod,offset@,offset_rod@,sigma@,"
        "verdict,closure,readings,apart@,moved,asked@,done@" },
    { "stakes", "runs", "runs", runs },
    { "stakes", "points", "points", points },
    { "stakes", "advice", "advice", ADVICE },

    { "adjust", "fit", "fit",
        "observations,elevations,setups,freedom,unit_given,unit_fit,sum_squares,confidence,least,most,verdict,normal_level,"
        "normal_limit,power,tau_level,tau_limit,beyond,reading_sigma@,reading_sigma_fit@" },
    { "adjust", "points", "points", "at,on,position,adjusted@,sigma@,sigma_fit@,check,piece" },
    { "adjust", "setups", "setups", "setup,hi@,sigma@,sigma_fit@,checked" },
    { "adjust", "observations", "observations",
        "number,kind,entry,row,setup,at,on,from,to,observed@,sigma_given@,residual@,sigma@,sigma_fit@,redundancy,normalised,"
        "studentised,detectable@,normal_test,tau_test" },
    { "adjust", "loops", "loops", "misclosure@,allowed@,within,sigma@,ratio,setups,dist@,over,walked" },
    { "adjust", "pieces", "pieces", "at,on,points,setups,observations,freedom" },

    { "plan", "plans", "plans", "entry,name,setups,enough" },
    { "plan", "runs", "plans.runs", "^entry,^name,from,from_on,to,to_on,kind,setups,dist@,sigma@,ordinary@,allowed@,enough" },
    { "plan", "points", "plans.points", "^entry,^name,at,on,sigma@,readings,mark" },
    { "plan", "stakes", "plans.stakes", "^entry,^name,at,on,line,tolerance@,sigma@,tells" },
    { "plan", "advice", "plans.advice", "^entry,^name," ADVICE },

    { "suspects", "faults", "faults", "fault,found,alike,half,readings,cleared" },
    { "suspects", "loops", "faults.loops", "^fault,loop,line,setups,misclosure@,limit@,by_sigma" },
    { "suspects", "suspects", "faults.suspects",
        "^fault,slip,words,kind,entry,row,setup,at,on,from,to,booked@,instead@,change@,affected,closes_to@,fixed,share,remains,"
        "advice,other.kind,other.entry,other.row,other.setup,other.at,other.on,other.from,other.to,other.booked@" },
    { "suspects", "shoot_again", "faults.shoot_again", "^fault,setup,from,to,mark,dist@,share" },

    { "run", "rows", "rows",
        "row,entry,date,before,gap@,away,sigma@,tolerance_line@,tolerance_height@,tolerance_plumb,grade,good,own_line.posts,"
        "own_line.kept,own_line.first@,own_line.last@,own_line.of,own_line.first_verdict,own_line.last_verdict,own_line.scale,"
        "own_line.crowded,own_line.middle@,own_line.bent" },
    { "run", "posts", "rows.posts",
        "^row,^entry,at,along@,measured,gap@,off@,way,off_high@,off_own@,way_own,sigma_own@,stands_out,or_else,rogue,touches,"
        "verdict,moved@,moved_sure,mark.adjusted@,mark.grade@,mark.off@,mark.sigma@,mark.off_own@,mark.stands_out,mark.or_else,"
        "mark.rogue,mark.old,mark.moved@,mark.verdict,top.adjusted@,top.grade@,top.off@,top.sigma@,top.off_own@,top.stands_out,"
        "top.or_else,top.rogue,top.old,top.moved@,top.verdict,lean_across.way,lean_across.rise@,lean_across.over@,"
        "lean_across.ratio,lean_across.degrees,lean_across.verdict,lean_along.way,lean_along.rise@,lean_along.over@,"
        "lean_along.ratio,lean_along.degrees,lean_along.verdict" },

    { "pad", "pad", "",
        "entry,good,line,means,below@,surface,grid_without,dx@,dy@,triangles,left_out,sum@,square@2,cut@3,fill@3,net@3,sigma_cut@3,"
        "sigma_fill@3,sigma_net@3,rule_cut@3,rule_fill@3,loose@3,covered@2,uncovered@2,area@2,stone@,stone_volume@3,"
        "density_kg_m3,stone_kg,source" },
    { "pad", "spots", "spots", "at,on,x@,y@,ground@,grade@,cut@,fill@,sigma@,squares,quality,same_place" },
    { "pad", "squares", "squares", "corners,mean@,area@2,cut@3,fill@3,net@3,rule_cut@3,rule_fill@3" },
    { "pad", "not_read", "not_read", "x@,y@,point,squares" },

    { "audit", "audit", "",
        "job,unit,record.entries,record.digest,record.digest_entry,record.altered,fits,digests,broken,fits_to,last_seal,errors,"
        "damage,paper.digits,paper.result,paper.entry,paper.added,paper.digit,key.key,key.seals,key.last_seal,key.other_seals" },
    { "audit", "breaks", "breaks", "first,last,from_line,to_line,fits_above,fits_again" },
    { "audit", "seals", "seals", "entry,key,fits,by,time" },
    { "audit", "hand_written", "hand_written", "first,last,covered" },
    { "audit", "torn", "torn", "entry,line,covered" },
    { "audit", "struck", "struck", "entry,row,at,on,bs@,is@,fs@,from,to,rise@,strike,by,time,reason,again" },
};
const size_t sheet_table_count = sizeof sheet_tables / sizeof sheet_tables[0];

const struct sheet_table *
sheet_table_find(const char *command, const char *name)
{
    for (size_t i = 0; i < sheet_table_count; i++)
        if (strcmp(sheet_tables[i].command, command) == 0 && strcmp(sheet_tables[i].name, name) == 0)
            return &sheet_tables[i];
    return NULL;
}
