package analysis

import (
	"tieup/kinematics/certify"
	"tieup/kinematics/solve"
)

// A Proof is a certificate, found when JSON is written.
type Proof struct{ find func() *certify.Certificate }

// MarshalJSON finds the certificate and writes it.
func (p Proof) MarshalJSON() ([]byte, error) {
	if p.find == nil {
		return []byte("null"), nil
	}
	return marshal(p.find())
}

// certified proves what a state does, and the speeds of its members.
func certified(sys *solve.System, m *solve.Motion) *certify.Certificate {
	p := sys.Prover(m.State)
	p.Outcome()
	p.Members(m)
	return &p.Certificate
}
