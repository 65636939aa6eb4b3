package kinematics

import (
	"math/big"
	"strings"
)

// A Comparison is a computed ratio beside the one that a source prints.
type Comparison struct {
	Computed   *big.Rat // in the source's own convention: in/out or out/in
	Printed    *big.Rat
	Difference *big.Rat // Computed - Printed
	Allowed    *big.Rat // what rounding or cutting off explains
	Agrees     bool
}

// Against compares a computed ratio, input speed / output speed and not 0, with
// the printed one; nil stands for an output that stands still while the input turns,
// which is 0 where the source prints out/in. A rounded ratio may differ by half a unit of its last
// printed place, a truncated one fall short by less than a whole unit, a
// fraction not at all. It is false if the text is no number, or where
// nothing can be compared.
func (p *Published) Against(ratio *big.Rat) (Comparison, bool) {
	printed, ok := new(big.Rat).SetString(p.Text)
	if !ok {
		return Comparison{}, false
	}
	c := Comparison{Computed: new(big.Rat), Printed: printed, Allowed: p.allowed()}
	switch {
	case ratio == nil && !p.OutIn:
		return Comparison{}, false
	case ratio != nil && p.OutIn:
		c.Computed.Inv(ratio)
	case ratio != nil:
		c.Computed.Set(ratio)
	}
	c.Difference = new(big.Rat).Sub(c.Computed, printed)
	size := new(big.Rat).Abs(c.Difference)
	c.Agrees = size.Cmp(c.Allowed) <= 0
	if p.Truncated && size.Sign() != 0 {
		// Cutting off leaves less than there was, by less than a unit.
		c.Agrees = size.Cmp(c.Allowed) < 0 && c.Difference.Sign() == c.Computed.Sign()
	}
	return c, true
}

// allowed is half a unit of the last printed place, or a whole one.
func (p *Published) allowed() *big.Rat {
	if strings.Contains(p.Text, "/") {
		return new(big.Rat)
	}
	_, places, _ := strings.Cut(p.Text, ".")
	unit := new(big.Rat).SetFrac(big.NewInt(1), new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(len(places))), nil))
	if p.Truncated {
		return unit
	}
	return unit.Mul(unit, big.NewRat(1, 2))
}
