package reading_test

import (
	"context"
	"testing"

	"tieup/kinematics"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// Each iteration explains or charts every range under every single fault; ns/state
// is per range and fault.
func eachSingleFault(b *testing.B, name string, f func(*reading.Reader, *kinematics.Range, kinematics.Fault)) {
	train := libraryTrain(b, name)
	reader := reading.NewReader(solve.Compile(train))
	faults := train.SingleFaults()
	for b.Loop() {
		for _, x := range faults {
			for i := range train.Ranges {
				f(reader, &train.Ranges[i], x)
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(faults)*len(train.Ranges)), "ns/state")
}

func explain(c *reading.Reader, r *kinematics.Range, f kinematics.Fault) {
	reading.Explain(context.Background(), c, r, f)
}

func BenchmarkExplainOverdriveSimpson(b *testing.B) { eachSingleFault(b, withOD, explain) }
func BenchmarkExplainEightSpeed(b *testing.B) {
	eachSingleFault(b, "four-carrier-eight-speed", explain)
}

func BenchmarkReadOverdriveSimpson(b *testing.B) {
	eachSingleFault(b, withOD, func(c *reading.Reader, r *kinematics.Range, f kinematics.Fault) { c.Read(r, f) })
}
