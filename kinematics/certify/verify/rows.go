package verify

import (
	"fmt"
	"maps"
	"math/big"

	"tieup/kinematics"
	"tieup/kinematics/certify"
)

// RowsOf writes down the equations of a state: "mesh 0" and on, parallel to
// Train.Meshes, and the couplings by name, but for open ones.
func RowsOf(t *kinematics.Train, st kinematics.State) certify.Rows {
	rows := certify.Rows{}
	for i := range t.Meshes {
		rows[fmt.Sprintf("mesh %d", i)] = meshRow(t, &t.Meshes[i], one, one)
	}
	senses := [...]string{kinematics.Locked: "=", kinematics.Overruns: ">=", kinematics.Reversed: "<="}
	for i := range t.Couplings {
		if mode := st.Modes[i]; mode != kinematics.Open {
			rows[t.Couplings[i].Name] = certify.Row{Form: slip(t, &t.Couplings[i]), Sense: senses[mode]}
		}
	}
	return rows
}

var one, minus = big.NewRat(1, 1), big.NewRat(-1, 1)

// form is a linear function of the speeds of members, and the housing does not turn.
func form(t *kinematics.Train, x *big.Rat, m kinematics.MemberID) certify.Form {
	if m == kinematics.Housing {
		return nil
	}
	return certify.Form{t.Members[m].Name: {Rat: *x}}
}

func slip(t *kinematics.Train, c *kinematics.Coupling) certify.Form {
	return certify.Form{}.Add(one, form(t, one, c.A)).Add(minus, form(t, one, c.B))
}

// meshRow is zA wA + zB wB - (zA + zB) wC = 0, with the teeth of A and B times factors.
func meshRow(t *kinematics.Train, m *kinematics.Mesh, a, b *big.Rat) certify.Row {
	za := new(big.Rat).Mul(a, big.NewRat(m.ZA, 1))
	zb := new(big.Rat).Mul(b, big.NewRat(m.Kind.Sign()*m.ZB, 1))
	f := certify.Form{}.Add(za, form(t, one, m.A)).Add(zb, form(t, one, m.B))
	return certify.Row{Form: f.Add(za.Add(za, zb), form(t, minus, m.Carrier)), Sense: "="}
}

// Slipping returns the rows of a state in which couplings slip against capacities.
func Slipping(t *kinematics.Train, rows certify.Rows, capacities certify.Form) certify.Rows {
	rows = maps.Clone(rows)
	for i := range t.Couplings {
		c := &t.Couplings[i]
		if x, ok := capacities[c.Name]; ok {
			rows[c.Name] = certify.Row{Form: slip(t, c), Sense: "friction", Capacity: x}
		}
	}
	return rows
}

// resisted adds the vehicle, a brake of the output.
func resisted(t *kinematics.Train, rows certify.Rows, output kinematics.MemberID, x certify.Frac) certify.Rows {
	rows = maps.Clone(rows)
	rows["resistance"] = certify.Row{Form: form(t, one, output), Sense: "friction", Capacity: x}
	return rows
}

// efficiencies are those of the kinds of mesh, or of gearsets by name.
type efficiencies certify.Form

// lossy returns the rows of meshes with losses: the driven gear gets less.
func (e efficiencies) lossy(t *kinematics.Train, rows certify.Rows) certify.Rows {
	rows = maps.Clone(rows)
	for i := range t.Meshes {
		m, name := &t.Meshes[i], fmt.Sprintf("mesh %d", i)
		row := rows[name]
		toA, toB := e.driven(t, m)
		teeth := big.NewRat(m.ZA, 1)
		row.Rolls = certify.Form{}.Add(teeth, form(t, one, m.A)).Add(teeth, form(t, minus, m.Carrier))
		row.Forth, row.Back = meshRow(t, m, toA, one).Form, meshRow(t, m, one, toB).Form
		rows[name] = row
	}
	return rows
}

// driven is what gears A and B of a mesh get where they are driven. Losses of a whole
// gearset are counted at its driven central gears.
func (e efficiencies) driven(t *kinematics.Train, m *kinematics.Mesh) (a, b *big.Rat) {
	pinion := func(id kinematics.MemberID) bool { return t.Members[id].Kind == kinematics.PinionMember }
	set := &t.Gearsets[m.Gearset]
	if x, ok := e[BasicName(set.Name)]; ok {
		a, b = &x.Rat, &x.Rat
		if pinion(m.A) {
			a = one
		}
		if pinion(m.B) {
			b = one
		}
		return a, b
	}
	x := e.of(m.Kind)
	if m.Path { // over pinions
		x = new(big.Rat).Set(one)
		met := map[int]bool{}
		for _, g := range set.Gears {
			kind := kinematics.External
			if g.Internal {
				kind = kinematics.Internal
			}
			x.Mul(x, e.of(kind))
			met[g.Pinion] = true
		}
		if len(met) == 2 {
			x.Mul(x, e.of(kinematics.External))
		}
	}
	return x, x
}

func (e efficiencies) of(kind kinematics.MeshKind) *big.Rat {
	x := e[map[kinematics.MeshKind]string{kinematics.Internal: "internal", kinematics.Chain: "chain"}[kind]]
	if kind == kinematics.External {
		x = e["external"]
	}
	return &x.Rat
}

// BasicName is the name under which the efficiency of a gearset stands.
func BasicName(gearset string) string { return "basic." + gearset }
