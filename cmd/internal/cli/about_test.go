package cli

import (
	"runtime"
	"runtime/debug"
	"testing"
)

func TestVersionText(t *testing.T) {
	system := runtime.Version() + ", " + runtime.GOOS + "/" + runtime.GOARCH + "\n"
	built := &debug.BuildInfo{Main: debug.Module{Version: "v1.2.0"}, Settings: []debug.BuildSetting{
		{Key: "vcs.revision", Value: "0123abcd"}, {Key: "vcs.time", Value: "2026-11-29T12:00:00Z"}, {Key: "vcs.modified", Value: "true"},
	}}
	for _, c := range []struct {
		info *debug.BuildInfo
		want string
	}{
		{nil, "tieup (unknown)\n" + system},
		{&debug.BuildInfo{Main: debug.Module{Version: "(devel)"}}, "tieup (devel)\n" + system},
		{built, "tieup v1.2.0\ncommit 0123abcd of 2026-11-29, changed after it\n" + system},
	} {
		if got := versionText(c.info); got != c.want {
			t.Errorf("got %q, want %q", got, c.want)
		}
	}
}
