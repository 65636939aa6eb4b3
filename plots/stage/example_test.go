package stage_test

import (
	"context"
	"fmt"

	"tieup/gearsets"
	"tieup/kinematics/analysis"
	"tieup/plots/stage"
)

// What the stage shows of a range: a figure of the train, and a scene of numbers for it.
func Example() {
	train := gearsets.MustLibrary("depot-shuttle-three-speed")
	reverse, _ := train.Range("R")
	answer, err := analysis.Open(train).Stage(context.Background(), reverse, analysis.Under(train.MustFault("forward=stuck")))
	if err != nil {
		fmt.Println(err)
		return
	}
	figure := stage.NewFigure(train, nil, train.Input, train.Output)
	scene := stage.NewScene(figure, train, answer)
	fmt.Println(answer.Headline+":", len(figure.Elements), "elements,", len(scene.Frames), "frames")
	// Output:
	// ties up: 6 elements, 5 frames
}
