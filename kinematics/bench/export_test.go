package bench

import "tieup/kinematics"

// Seen is what a turn shows under faults.
func (p *Plan) Seen(x Turn, faults ...kinematics.Fault) Seen { return p.turner.seen(x, faults...) }
