package transient

import "math"

// sample records the motion after the steps since the last sample.
func (a *player) sample(i, steps int) {
	r, b := a.run, a.b
	span := float64(steps) * a.s.Step
	t := float64(i) * span
	r.Time = append(r.Time, t)
	r.ys = append(r.ys, a.y...)
	r.Input = append(r.Input, dot(b.in, a.y))
	r.Output = append(r.Output, a.sense*dot(b.out, a.y))
	var least, most []float64
	if steps > 0 {
		least, most = a.torques(t-span/2, span)
		in, out := a.input/span, a.output/span
		for j, of := range a.of {
			mean := a.impulse[j] / span
			switch of {
			case inputDrag:
				in = nearestZero(in-mean+least[j], in-mean+most[j])
			case road:
				out = nearestZero(out+mean-most[j], out+mean-least[j])
			}
		}
		r.InputTorque = append(r.InputTorque, in)
		r.OutputTorque = append(r.OutputTorque, a.sense*out)
	} else {
		least, most = make([]float64, len(a.rows)), make([]float64, len(a.rows))
	}
	k := 0
	for j, of := range a.of {
		if of >= 0 {
			a.track(&r.Tracks[k], j, span, least[j], most[j])
			k++
		}
		a.impulse[j], a.heat[j], a.slipTime[j], a.moved[j] = 0, 0, 0, false
	}
	a.input, a.output = 0, 0
	if i == 1 { // the first sample has no past: its torques are those that follow
		r.InputTorque = append(r.InputTorque[:1:1], r.InputTorque[0])
		r.OutputTorque = append(r.OutputTorque[:1:1], r.OutputTorque[0])
		for k := range r.Tracks {
			t := &r.Tracks[k]
			t.TorqueMin[0], t.TorqueMax[0] = t.TorqueMin[1], t.TorqueMax[1]
		}
	}
}

// nearestZero returns the number between lo and hi that is nearest to 0.
func nearestZero(lo, hi float64) float64 { return min(max(0, lo), hi) }

// track adds a sample to the track of row j.
func (a *player) track(t *Track, j int, span, least, most float64) {
	heat := a.heat[j]
	if span > 0 {
		t.PeakPower = max(t.PeakPower, heat/span)
		heat += t.TotalHeat()
		if a.slipTime[j] > 0 {
			t.PeakSlip = max(t.PeakSlip, math.Abs(a.slip[j]))
		}
	}
	t.Slip = append(t.Slip, a.slip[j])
	t.TorqueMin = append(t.TorqueMin, least)
	t.TorqueMax = append(t.TorqueMax, most)
	t.Heat = append(t.Heat, heat)
	t.SlipTime += a.slipTime[j]
}
