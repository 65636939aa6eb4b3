// Package analysis is the one place that answers. It opens a train once and
// answers each question about it with a value that holds everything the answer
// says: numbers, verdicts, reasons, hazards, cautions and assumptions.
//
//	a := analysis.Open(train)
//	answer, err := a.Chart(ctx, analysis.Question{Condition: analysis.Under(faults...)})
//
// Commands, server, tables and drawings take these values and nothing else. None
// of them computes and none of them words, so that text, JSON, CSV, page and
// drawing of one answer cannot disagree. What is new to be said is therefore
// computed here or below, put into the answer, and written by whoever shows it.
//
// What is wrong is a [Condition]: faults of elements and joints ([Under]), or faults as users
// write them, of the controls, too ([InForce]). Where these leave open what a range comes to,
// an answer is of one outcome, names the others, and has the cautions of all.
//
// # Values
//
// An answer is its own JSON: encoding/json writes the document of its schema
// ("tieup.solve/1" and so on). Exact numbers are fractions until they are written
// (package exact); enumerations write their words; what does not apply is null;
// what is named keeps the order of the train ([Named]). Fields that JSON leaves
// out, such as the [solve.Motion] behind a state, are for writers in Go. Speeds
// and ratios have the signs and units of package kinematics.
//
// # Use by several goroutines
//
// An [Analysis] may be used by any number of goroutines. What it remembers between
// questions it keeps in workers, one for each question that is being answered.
//
// # Errors
//
// Bad questions (a range with other ends, a fault that is not played here, what the train
// cannot have, a number that is none) are errors with a sentence that says what is wrong or
// what to ask instead. What the gears do, a
// tie-up or a train that is free, is never an error but an answer. Work that
// can take long takes a context; when it ends the error is the context's.
package analysis
