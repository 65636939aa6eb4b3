package analysis

import (
	"context"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// A Stage is what is shown of one range under faults, beside all others: what it
// does and why, with the reason in frames.
type Stage struct {
	Range         *kinematics.Range
	Healthy, Now  reading.RangeReading
	Why           *reading.Why
	Story         *reading.Story
	HealthyMotion *solve.Motion // of the healthy range
	Headline      string
	Reason        string
	Notes         []reading.Note
	Warnings      []string // empty where no harm can be
	Brief         string   // of the first two warnings
	Chart         *reading.Chart
	Outcomes      []RangeOutcomes // of all ranges that can come to more
	Also          string          // what the range can come to besides, "" for nothing
}

// Stage answers what range number rng does under faults.
func (a *Analysis) Stage(ctx context.Context, rng int, c Condition) (*Stage, error) {
	r, err := a.rangeAt(rng)
	if err == nil {
		err = c.in(a.Train, r)
	}
	if err != nil {
		return nil, err
	}
	s := &Stage{Range: r}
	w := a.workers.take()
	defer a.workers.put(w)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	here := kinematics.Acting(c.Faults, s.Range)
	s.Chart = w.reader.Chart(c.Faults...)
	row := s.Chart.Rows[rng]
	s.Healthy, s.Now = row.Healthy, row.Faulty
	s.Why = reading.Explain(ctx, w.reader, s.Range, here...)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	s.Why.Cell.As = s.Now.As
	s.Story = reading.Tell(w.reader, s.Why)
	s.HealthyMotion = w.system.Motion(a.Train.In(s.Range))
	s.Headline, s.Reason, s.Notes = s.Now.Headline(), s.Why.Reason(s.Healthy), s.Why.Notes(s.Story, s.Healthy)
	hazards := reading.Hazards(row.Healthy, row.Faulty)
	s.Outcomes, _ = w.outcomes(c, pointers(a.Train.Ranges)...)
	for _, o := range s.Outcomes {
		if o.Range == s.Range.Name {
			s.Also, hazards = o.Brief(), append(hazards, o.Hazards...)
		}
	}
	s.Warnings, s.Brief = reading.Warnings(a.Train.Use, hazards), reading.Brief(a.Train.Use, hazards)
	return s, ctx.Err()
}

// Harm returns the cautions of what a range of a chart can do to people that it
// does not when healthy, without the standing line.
func Harm(t *kinematics.Train, row reading.Row) []string {
	own, _ := reading.Apart(reading.Cautions(t.Use, reading.Hazards(row.Healthy, row.Faulty)))
	return own
}

// CouplingState says what a coupling does at the operating point.
type CouplingState = solve.CouplingState

// HealthySays is what is said of the healthy range beside the faulty one.
func (s *Stage) HealthySays() (head, text string) {
	return "healthy: " + s.Healthy.Headline(), "This is the healthy range."
}

// Beside is what is said where there are no cautions: how it coasts, and its ratio.
func (s *Stage) Beside() string {
	text := "Coasting: " + s.Now.Reading.Coast + "."
	if ratio, drives := s.Now.Outcome.Ratio(); drives {
		value := ratio.String()
		if len(value) > longestFraction {
			value = ratio.Rat().FloatString(4)
		}
		text = "Ratio = input speed / output speed = " + value + ". " + text
	}
	return text
}

// longestFraction is how many letters a fraction may have that a class can read.
const longestFraction = 9

// Contradicts says whether the story sets the elements of a conflict aside while the
// input pulls, Rolling whether it does while the vehicle is rolled.
func (s *Stage) Contradicts() bool { return s.Story.Kind == reading.StoryConflict }

// Rolling says whether the story tells what binds only when the vehicle is rolled.
func (s *Stage) Rolling() bool { return s.Story.Kind == reading.StoryRolling }
