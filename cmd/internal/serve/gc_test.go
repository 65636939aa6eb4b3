package serve

import "runtime/debug"

// A test's heap is small: it would be collected for every few megabytes.
var _ = debug.SetGCPercent(400)
