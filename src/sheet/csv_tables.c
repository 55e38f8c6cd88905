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

#define ASKED "asked.depth@,asked.from,asked.from_grade,asked.to,asked.footing@,asked.diameter@,asked.top@,asked.post_length@,asked.source"
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

    { "suspects", "summary", "", "outside,loops,closing_readings,unchecked_readings" },
    { "suspects", "faults", "faults", "fault,found,alike,half,readings,cleared" },
    { "suspects", "loops", "faults.loops", "^fault,loop,line,setups,misclosure@,limit@,by_sigma" },
    { "suspects", "suspects", "faults.suspects",
        "^fault,slip,words,kind,entry,row,setup,at,on,from,to,booked@,instead@,change@,affected,closes_to@,fixed,share,remains,"
        "advice,other.kind,other.entry,other.row,other.setup,other.at,other.on,other.from,other.to,other.booked@" },
    { "suspects", "shoot_again", "faults.shoot_again", "^fault,setup,from,to,mark,dist@,share" },

    { "site", "summary", "",
        "site.entry,site.length@,site.width@,site.post_along@,site.post_across@,site.nailed@,site.string@,site.string_stated,"
        "site.set_back@,site.set_back_stated,site.posts,site.battens_near,triangle.along@,triangle.across@,triangle.between@" },
    { "site", "lines", "lines", "of,length@,width@,diagonal@" },
    { "site", "battens", "battens", "at,string,face_mark@,string_mark@,facing,apart@,apart_footprint@,past_crossing@" },
    { "site", "strings", "strings", "string,row,from,to,length@,from_front@" },
    { "site", "marks", "strings.marks", "^string,^row,at,measured_to,mark@,from_last@,centre@,near_face@,far_face@" },
    { "site", "rows", "rows", "row,wall,posts" },
    { "site", "doors", "doors", "row,from@,to@,opening@,post_before,post_behind" },
    { "site", "points", "points", "at,kind,x@,y@,given_entry,given_x@,given_y@,holds" },

    { "square", "summary", "", "confidence,left_over" },
    { "square", "figures", "figures",
        "figure,shape,entry,position,last,before,moved,asked@,done@,state,sigma@,sigma_stated,tolerance@,guessed,intended,"
        "redundancy,share,located,diagonals_differ@,diagonals_sigma@,diagonals_tolerance@,diagonals_verdict,diagonals_squared@2,"
        "sides_squared@2,slide@,slide_sigma@,cure,not_closing_by@,square_at,needs@,needs_off@,needs_sigma@,needs_tolerance@,"
        "needs_verdict,normal_pull" },
    { "square", "lengths", "figures.lengths",
        "^figure,from,to,taped,read@,correction@,mean@,apart@,adjusted@,sigma@,residual@,redundancy,intended@,off@,tolerance@,"
        "verdict,lay_out@" },
    { "square", "readings", "figures.readings",
        "^figure,entry,row,from,to,read@,length_correction@,temp_correction@,pull_correction@,sag_correction@,slope_correction@,"
        "corrected@,residual@,redundancy,normalised,alone_off@,detectable@,beyond,suspect" },
    { "square", "corners", "figures.corners",
        "^figure,at,x@,y@,sigma_x@,sigma_y@,angle,angle_sigma,angle_intended,over@,out@,out_sigma@" },
    { "square", "moves", "figures.moves", "^figure,at,along@,across@" },
    { "square", "after", "figures.after", "^figure,from,to,length@" },
    { "square", "missing", "figures.missing", "^figure,from,to" },
    { "square", "tape_again", "figures.tape_again", "^figure,from,to" },
    { "square", "not_closing", "figures.not_closing", "^figure,from,to" },

    { "grade", "summary", "", "confidence,clear@,under@,slope_most,fall" },
    { "grade", "ground", "ground",
        "building,length@,width@,area@2,covered@2,slope_along,slope_across,up_along@,up_across@,sigma_along@,sigma_across@,"
        "scatter@,posts_between,posts_unknown,left_out" },
    { "grade", "shots", "ground.shots", "at,elevation@,sigma@,closure,outside@,on,strings,area@2" },
    { "grade", "candidates", "candidates",
        "number,kind,missing,level@,slope,towards,slope_of_ground,slope_sigma,may_be_chance,held,decides,cut@,cut_at,fill@,"
        "fill_at,cut_volume@3,fill_volume@3,hole@,hole_at,post@,post_at,too_short,short_by@,drainage.fall,drainage.shots,"
        "drainage.too_little,drainage.unsure,drainage.worst_at,drainage.worst_distance@,drainage.worst_fall@,"
        "drainage.worst_needs@" },

    { "posts", "summary", "", "line," ASKED ",read,enough,deeper,doubt,good" },
    { "posts", "posts", "posts",
        "at,ground@,grade@,hole@,footing_top@,missing," ASKED ",below_ground@,below_ground_sigma@,below_grade@,"
        "below_grade_sigma@,bottom@,over@,over_sigma@,judged_by,dig@,deeper_than_asked@,verdict,rod@,rod_read@,"
        "longer_than_rod,setup,stands_on,stands_at@,mark@,mark_sigma@,length@,cut_off@,closure" },

    { "concrete", "summary", "",
        "entry,good,order.holes,order.left_out,order.by_depth_asked,order.hole@3,order.post@3,order.concrete@3,order.waste,"
        "order.waste_stated,order.with_waste@3,order.bags,order.bag_yield@3,order.bag_mass,order.bag_density,order.bags_to_yard,"
        "order.load@3,order.step@3,order.spoil@3,order.spoil_loose@3,order.slump@,order.slump_stated,order.slump_unusual" },
    { "concrete", "holes", "holes",
        "at,diameter@,depth@,depth_by,least_diameter@,narrow,foot@,thick@,hole@3,post@3,concrete@3,with_waste@3,bags" },

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

    { "pad", "summary", "",
        "entry,good,line,means,below@,surface,grid_without,dx@,dy@,triangles,left_out,sum@,square@2,cut@3,fill@3,net@3,sigma_cut@3,"
        "sigma_fill@3,sigma_net@3,rule_cut@3,rule_fill@3,loose@3,covered@2,uncovered@2,area@2,stone@,stone_volume@3,"
        "density_kg_m3,stone_kg,source" },
    { "pad", "spots", "spots", "at,on,x@,y@,ground@,grade@,cut@,fill@,sigma@,squares,quality,same_place" },
    { "pad", "squares", "squares", "corners,mean@,area@2,cut@3,fill@3,net@3,rule_cut@3,rule_fill@3" },
    { "pad", "not_read", "not_read", "x@,y@,point,squares" },

    { "audit", "summary", "",
        "job,unit,record.entries,record.digest,record.digest_entry,record.altered,fits,digests,broken,fits_to,last_seal,errors,"
        "damage,paper.digits,paper.result,paper.entry,paper.added,paper.digit,key.key,key.seals,key.last_seal,key.other_seals" },
    { "audit", "breaks", "breaks", "first,last,from_line,to_line,fits_above,fits_again" },
    { "audit", "seals", "seals", "entry,key,fits,by,time" },
    { "audit", "hand_written", "hand_written", "first,last,covered" },
    { "audit", "torn", "torn", "entry,line,covered" },
    { "audit", "struck", "struck", "entry,row,at,on,bs@,is@,fs@,from,to,rise@,taped@,strike,by,time,reason,again" },
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
