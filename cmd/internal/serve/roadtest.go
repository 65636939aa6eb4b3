package serve

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"path"
	"slices"
	"strings"

	"tieup/gearsets"
	"tieup/gearsets/roadtest"
	"tieup/kinematics"
	"tieup/kinematics/analysis"
	"tieup/kinematics/reading"
	"tieup/plots/page"
	"tieup/plots/table"
)

// lookCase looks up what a road test showed. The state is filled in with the
// words in their usual order; what cannot be is left out and returned as errors.
func (sub *request) lookCase(st page.State) error {
	t := sub.train
	c := analysis.NewCase(t)
	c.Vehicle, c.Complaint = st.Vehicle, st.Complaint
	sub.sheet = c
	sub.state.Saw, sub.state.When = nil, nil
	var errs []error
	if st.Assume != "" {
		kept, err := sub.unpackKept(st.Assume)
		if err != nil {
			errs = append(errs, err)
			sub.state.Assume = ""
		} else {
			c.Assume, c.Found, c.Replaced, c.Proved = kept.Assume, kept.Found, kept.Replaced, kept.Proved
		}
	}
	for _, name := range st.When {
		errs = append(errs, c.Know(name))
	}
	for _, saw := range st.Saw {
		errs = append(errs, sub.see(c, saw))
	}
	if st.Test != "" {
		place, err := analysis.ParsePlace(t, st.Test)
		if err == nil && place.Shop == nil {
			err = fmt.Errorf("%s is no test in the workshop", kinematics.Quote(st.Test))
		}
		sub.state.Test = ""
		if err != nil {
			errs = append(errs, err)
		} else {
			sub.state.Test = place.Place(t)
		}
	}
	sub.putCase(c)
	return errors.Join(errs...)
}

// see adds what was seen in a place, word by word: one that cannot be does not
// take away the others, and is kept for the field in which it was written.
func (sub *request) see(c *analysis.Case, saw page.Observed) error {
	at, err := analysis.ParsePlace(c.Train, saw.Place)
	if err != nil {
		return fmt.Errorf("the road test: %w", err)
	}
	var errs []error
	for _, word := range page.Words(saw.Seen) {
		if err := seeWord(c, at, word); err != nil {
			errs = append(errs, fmt.Errorf("%s: %w", at.Place(c.Train), err))
			sub.refused = append(sub.refused, page.Observed{Place: at.Place(c.Train), Seen: word})
		}
	}
	return errors.Join(errs...)
}

// seeWord reads one word of what was seen in a place. A number with a comma that
// may be read in two ways is refused whole.
func seeWord(c *analysis.Case, at analysis.Observation, word string) error {
	if strings.Contains(word, ",") {
		_, number, typed := strings.Cut(word, " ")
		if !typed {
			number = word
		}
		return fmt.Errorf("%s has a comma that can be read in two ways: write 2.45 or 1800/735", kinematics.Quote(number))
	}
	list, err := analysis.ParseSeen(c.Train, at, word)
	if err != nil {
		return err
	}
	return c.Add(list...)
}

// putCase writes a case into the state.
func (sub *request) putCase(c *analysis.Case) {
	c.Sort()
	st := &sub.state
	st.Vehicle, st.Complaint = c.Vehicle, c.Complaint
	st.When, st.Saw = kinematics.Map(c.Circumstances, analysis.Circumstance.Name), nil
	for i := range c.Seen {
		st.Saw = saw(st.Saw, c.Seen[i].Place(c.Train), c.Seen[i].Value(c.Train))
	}
	if slices.ContainsFunc(st.Saw, func(s page.Observed) bool { return s.Place == st.Test }) {
		st.Test = ""
	}
}

// saw adds what was seen in a place to a list.
func saw(list []page.Observed, place, value string) []page.Observed {
	list = slices.Clone(list)
	if n := slices.IndexFunc(list, func(s page.Observed) bool { return s.Place == place }); n >= 0 {
		list[n].Seen += ", " + value
		return list
	}
	return append(list, page.Observed{Place: place, Seen: value})
}

// note is what a button of the form sends to note that something more was seen,
// "" if it cannot be beside what was seen already.
func (sub *request) note(seen []analysis.Observation) string {
	with := *sub.sheet
	if with.Add(seen...) != nil {
		return ""
	}
	more := page.State{Pace: page.UsualPace}
	for _, o := range seen {
		more.Saw = saw(more.Saw, o.Place(sub.train), o.Value(sub.train))
	}
	return more.Values().Encode()
}

// sheetTrain is the name by which a sheet of the subject finds its train.
func (sub *request) sheetTrain() string {
	if sub.state.File != "" {
		return sub.state.FileName
	}
	return sub.state.Train
}

// packKept packs what of a case has no field on the page: what a diagnosis takes for
// granted, what was found on opening, replaced and proved; "" where there is nothing.
func (sub *request) packKept(c *analysis.Case) (string, error) {
	if analysis.Usual(c.Assume) && len(c.Found)+len(c.Replaced)+len(c.Proved) == 0 {
		return "", nil
	}
	return pack(roadtest.Format(sub.sheetTrain(), &analysis.Case{
		Train: sub.train, Assume: c.Assume, Found: c.Found, Replaced: c.Replaced, Proved: c.Proved,
	}, nil))
}

func (sub *request) unpackKept(packed string) (*analysis.Case, error) {
	src, err := unpack(packed, gearsets.MaxSize)
	if err != nil {
		return nil, err
	}
	sheet, _, err := roadtest.ParseWith("assumptions", src, func(string) (*gearsets.File, error) { return sub.file, nil })
	if err != nil {
		return nil, errPacked
	}
	return sheet.Case, nil
}

// roadTest answers the bench: the form, the suspects and the next tests, by what
// the command diagnose asks. It is nil if the context ended meanwhile.
func (sub *request) roadTest(ctx context.Context) *page.RoadTest {
	d, err := sub.answers.Diagnose(ctx, analysis.DiagnoseQuestion{Case: sub.sheet, Tests: 3, Brief: true})
	if err != nil {
		return nil
	}
	b := &page.RoadTest{Diagnosed: table.Diagnosed{Diagnosed: d, All: sub.state.All, AllBy: "the button below"}}
	b.Circumstances = circumstances(sub.sheet.Circumstances)
	t := sub.train
	for i := range t.Ranges {
		r := &t.Ranges[i]
		p := page.NewSheetPlace(r.Name, reading.AppliedText(t, r), sub.sheet.SeenIn(&analysis.Observation{Range: i, To: -1}),
			d.Mistakable[i])
		p.Refuse(sub.refusedAt(p.Name))
		b.Ranges = append(b.Ranges, p)
	}
	shifts := sub.answers.ShiftPairs()
	for i := range sub.sheet.Seen {
		o := &sub.sheet.Seen[i]
		if s := [2]int{o.Range, o.To}; o.IsShift() {
			b.ShiftsSeen = true
			if !slices.Contains(shifts, s) {
				shifts = append(shifts, s)
			}
		}
	}
	for _, s := range shifts {
		place := analysis.Observation{Range: s[0], To: s[1]}
		b.Shifts = append(b.Shifts, page.NewSheetShift(place.Place(t), sub.sheet.SeenIn(&place)))
	}
	sub.workshop(b)
	for _, x := range d.Next {
		next := page.NextTest{NextTest: x}
		next.Shows = kinematics.Map(x.Expect, func(e analysis.TestExpectation) page.Shown {
			return page.Shown{TestExpectation: e, Note: sub.note(e.Seen)}
		})
		b.Next = append(b.Next, next)
	}
	return b
}

// refusedAt are the words of a place that were refused.
func (sub *request) refusedAt(place string) []string {
	var words []string
	for _, s := range sub.refused {
		if s.Place == place {
			words = append(words, s.Seen)
		}
	}
	return words
}

// workshop fills in the tests of the workshop: those of which something is
// known, the one that was chosen, and those that can be chosen.
func (sub *request) workshop(b *page.RoadTest) {
	t := sub.train
	show := func(o analysis.Observation) {
		p := page.NewShopPlace(t, o, sub.sheet.SeenIn(&o))
		p.Refuse(sub.refusedAt(p.Name))
		b.Shop = append(b.Shop, p)
	}
	for _, o := range sub.sheet.InShop() {
		show(o)
	}
	if sub.state.Test != "" {
		if o, err := analysis.ParsePlace(t, sub.state.Test); err == nil {
			show(o)
		}
	}
	at := map[string]int{}
	for _, o := range analysis.ShopPlaces(t) {
		label := o.Shop.Kind.String()
		if _, known := at[label]; !known {
			at[label] = len(b.Tests)
			b.Tests = append(b.Tests, page.Alternatives{Label: label})
		}
		g := &b.Tests[at[label]]
		place := o.Place(t)
		_, text, _ := strings.Cut(place, ":")
		g.Options = append(g.Options, page.Option{Value: place, Text: strings.Replace(text, "@", " in ", 1),
			Chosen: place == sub.state.Test})
	}
}

// circumstances arranges circumstances with those that they exclude.
func circumstances(known []analysis.Circumstance) []page.Alternatives {
	var list []page.Alternatives
	for _, alternatives := range analysis.Words().Circumstances {
		group := page.Alternatives{Options: []page.Option{{Text: "not known", Chosen: true}}}
		var labels []string
		for _, x := range alternatives {
			labels = append(labels, x.Name())
			chosen := slices.Contains(known, x)
			group.Options[0].Chosen = group.Options[0].Chosen && !chosen
			group.Options = append(group.Options, page.Option{Value: x.Name(), Text: x.String(), Chosen: chosen})
		}
		group.Label = strings.Join(labels, " or ")
		list = append(list, group)
	}
	return list
}

// serveSheet answers the road-test sheet of a state as a file, or the page with
// what is wrong with the state.
func (s *Server) serveSheet(w http.ResponseWriter, r *http.Request) {
	st, err := page.ParseState(r.URL.Query())
	sub, wrong := s.look(r.Context(), st)
	if err = errors.Join(err, wrong); err != nil {
		s.show(w, r, http.StatusBadRequest, st, sub, err)
		return
	}
	h := w.Header()
	h.Set("Content-Type", "text/yaml; charset=utf-8")
	h.Set("Content-Disposition", fmt.Sprintf("attachment; filename=%q", sub.train.Name+"-road-test.yaml"))
	w.Write(roadtest.Format(sub.sheetTrain(), sub.sheet, sub.answers.ShiftPairs()))
}

// takeSheet puts an uploaded road-test sheet into a state. The train of the
// sheet is one that comes with tieup, or the file that the state has already: no
// other file is opened.
func (s *Server) takeSheet(ctx context.Context, st page.State, name string, src []byte) (page.State, error) {
	train := func(wanted string) (*gearsets.File, error) {
		if gearsets.Source(wanted) != nil {
			l, err := s.trains.get(ctx, page.State{Train: wanted})
			if err != nil {
				return nil, err
			}
			st.Train, st.File, st.FileName = wanted, "", ""
			return l.file, nil
		}
		own := path.Base(strings.ReplaceAll(wanted, `\`, "/"))
		if st.File == "" || own != st.FileName {
			return nil, fmt.Errorf("the sheet is about the train %s: put that file on the page first, then the sheet",
				kinematics.Quote(wanted))
		}
		l, err := s.trains.get(ctx, st)
		if err != nil {
			return nil, err
		}
		return l.file, nil
	}
	sheet, _, err := roadtest.ParseWith(name, src, train)
	if err != nil {
		return st, err
	}
	l, err := s.trains.get(ctx, st)
	if err != nil {
		return st, err
	}
	sub := &request{loaded: l, state: page.State{
		Train: st.Train, File: st.File, FileName: st.FileName, Mode: page.Test, Shade: st.Shade, Pace: st.Pace,
	}}
	sheet.Case.Vehicle, sheet.Case.Complaint = page.Line(sheet.Case.Vehicle), page.Line(sheet.Case.Complaint)
	sub.putCase(sheet.Case)
	sub.state.Assume, err = sub.packKept(sheet.Case)
	return sub.state, err
}
