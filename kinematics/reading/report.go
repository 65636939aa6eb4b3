package reading

import (
	"fmt"
	"strings"

	"tieup/kinematics"
)

// Framed says what the drawing of a report frames: of a turn, counted from 1, what it
// applies; 0 for none.
func Framed(parts []string, turn int) string {
	if turn > 0 {
		return fmt.Sprintf("Framed: %s, which turn %d applies.", kinematics.And(parts), turn)
	}
	return "Framed: " + kinematics.And(parts) + "."
}

// Quoted puts what somebody said in quotes.
func Quoted(text string) string { return "“" + strings.Join(strings.Fields(text), " ") + "”" }

// TookHeat says that a part was harmed by what is at fault.
func TookHeat(part string) string { return part + ": it took heat from what was at fault" }

// ProvedTurns says how many turns by hand showed what they should; others are those not of
// the plan that did not.
func ProvedTurns(made, agree, all, others int) string {
	switch {
	case others > 0:
		return fmt.Sprintf("%d of %d turns by hand made, %d not as it should be, %d of these outside this plan: not proved",
			made, all, made-agree+others, others)
	case agree == all:
		return fmt.Sprintf("all %d turns by hand showed what they should", all)
	case made == agree:
		return fmt.Sprintf("%d of %d turns by hand made, all as they should be; the others are still to be made", made, all)
	}
	return fmt.Sprintf("%d of %d turns by hand made, %d not as it should be: not proved", made, all, made-agree)
}

// Suspected stands before parts that are suspected, for somebody who does not know the trade.
func Suspected(parts int) string {
	if parts == 1 {
		return "This is suspected, and not proved:"
	}
	return "One of these is suspected, and none is proved:"
}

// What is said where less is known than a report is to tell.
const (
	NothingSuspected = "Nothing yet: nothing was seen."
	FoundUnproved    = "That it is put right is not proved yet."
	FoundInPart      = "This does not fully explain everything that was seen."
	NoTurnMade       = "no turn by hand was made: not proved"
)
