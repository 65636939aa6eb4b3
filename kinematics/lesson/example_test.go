package lesson_test

import (
	"fmt"

	"tieup/gearsets"
	"tieup/kinematics/lesson"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// The second exercise of a sheet, with its answer.
func Example() {
	train := gearsets.MustLibrary("depot-shuttle-three-speed")
	teacher := lesson.NewTeacher(train, reading.NewReader(solve.Compile(train)))
	sheet := teacher.Sheet(7, 2)
	e := &sheet.Exercises[1]
	fmt.Println(sheet.Task(e))
	for _, row := range e.Rows[:3] {
		fmt.Printf("%s: %s\n", row.Range.Name, row.Cell.Text())
	}
	// Output:
	// What does each range do? What is wrong: rear.sun is sheared off shell: it turns free of the others.
	// P: no drive, output held
	// R: no drive
	// N: no drive
}
