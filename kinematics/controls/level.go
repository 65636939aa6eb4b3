package controls

// levels are, lane by lane, the pressures that a signal may have: a lane is one
// bit of each word, and a signal that is known has exactly one of its three bits
// set in a lane. 64 lanes are evaluated at once, each a case of its own (another
// fault, another range), as in parallel fault simulation [Seshu 1965].
//
// none < low < full is a chain; and is its least, or its greatest, not turns it
// round. Taken over sets of levels that is Kleene's three-valued logic
// [Kleene 1952, section 64] with a middle level that is known to be there.
type levels struct{ none, low, full uint64 }

const every = ^uint64(0)

var (
	nothing = levels{none: every}
	full    = levels{full: every}
	unknown = levels{none: every, full: every}
)

func (a levels) and(b levels) levels {
	return levels{
		none: a.none | b.none,
		low:  a.low&(b.low|b.full) | b.low&a.full,
		full: a.full & b.full,
	}
}

func (a levels) or(b levels) levels { return a.not().and(b.not()).not() }

func (a levels) not() levels { return levels{none: a.full, low: a.low, full: a.none} }

// where returns b in the lanes of mask and a in the others.
func (a levels) where(mask uint64, b levels) levels {
	return levels{a.none&^mask | b.none&mask, a.low&^mask | b.low&mask, a.full&^mask | b.full&mask}
}

// leaking is a pressure of which a leak leaves a part.
func (a levels) leaking() levels { return levels{none: a.none, low: a.low | a.full} }

// signal is the pressure as a valve takes it: one as high as the line's moves it,
// a lower one does what weak says.
func (a levels) signal(weak levels) levels {
	return levels{none: a.none | a.low&weak.none, full: a.full | a.low&weak.full}
}

// unsure are the lanes in which the level is not known.
func (a levels) unsure() uint64 { return a.none&a.low | a.low&a.full | a.none&a.full }

func ofBit(on bool) levels {
	if on {
		return full
	}
	return nothing
}

// in returns the level of one lane.
func (a levels) in(lane int) Level {
	return Level(a.none>>lane&1 | a.low>>lane&1<<1 | a.full>>lane&1<<2)
}

// A Level is the set of pressures that something may have: one of [None], [Low]
// and [Full] where it is known.
type Level uint8

// The pressures. Low is less than the line's: a leak, or the line itself.
const (
	None Level = 1 << iota
	Low
	Full
	Unknown = None | Full
)

// Known says whether there is exactly one pressure it can be.
func (l Level) Known() bool { return l == None || l == Low || l == Full }

// String returns the word used in answers.
func (l Level) String() string {
	switch l {
	case None:
		return "none"
	case Low:
		return "low"
	case Full:
		return "full"
	}
	return "unknown"
}

// MarshalText writes the word used in answers.
func (l Level) MarshalText() ([]byte, error) { return []byte(l.String()), nil }
