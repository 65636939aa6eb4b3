package transient_test

import (
	"testing"

	"tieup/kinematics/transient"
)

// BenchmarkEightSpeed plays a shift of the eight-speed train for a second in steps
// of 0.1 ms: the fourth into the fifth.
func BenchmarkEightSpeed(b *testing.B) {
	train := library(b, "four-carrier-eight-speed")
	s := from(b, train, "D4", "D5")
	s.Speed, s.Until, s.Step, s.Sample = 100, 1, 1e-4, 2e-3
	for b.Loop() {
		if _, err := s.Run(b.Context()); err != nil {
			b.Fatal(err)
		}
	}
	report(b, s)
}

// BenchmarkPlay plays what the command plays: two lengths of steps, the timed
// shift, and the verdict.
func BenchmarkPlay(b *testing.B) {
	train := library(b, "four-carrier-eight-speed")
	s := from(b, train, "D4", "D5")
	s.Speed = 100
	for b.Loop() {
		if _, err := s.Play(b.Context()); err != nil {
			b.Fatal(err)
		}
	}
}

// report adds how much faster than time itself a shift was played.
func report(b *testing.B, s *transient.Shift) {
	b.ReportMetric(s.Until*float64(b.N)/b.Elapsed().Seconds(), "s/s")
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/(s.Until/s.Step), "ns/step")
}
