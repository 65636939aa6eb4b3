package page

// A RoadTest is the road-test sheet as a form, with what follows from it.
type RoadTest struct{}
