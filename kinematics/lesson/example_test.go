package lesson_test

import (
	"context"
	"fmt"

	"tieup/gearsets"
	"tieup/kinematics/lesson"
	"tieup/kinematics/reading"
	"tieup/kinematics/solve"
)

// The second exercise of a sheet, with its answer.
func Example() {
	train := gearsets.MustLibrary("depot-shuttle-three-speed")
	ctx := context.Background()
	teacher, err := lesson.NewTeacher(ctx, train, reading.NewReader(solve.Compile(train)), lesson.Given{})
	if err != nil {
		fmt.Println(err)
		return
	}
	sheet, err := teacher.Sheet(ctx, 7, 2)
	if err != nil {
		fmt.Println(err)
		return
	}
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
