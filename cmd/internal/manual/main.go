// Command manual writes the manual pages of tieup into a directory. It is run when
// a release is made, so that the program itself carries no generator:
//
//	go run ./cmd/internal/manual DIR
//
// The date on the pages is SOURCE_DATE_EPOCH where that is set, so that the same
// source gives the same pages.
package main

import (
	"fmt"
	"os"
	"strconv"
	"time"

	"github.com/spf13/cobra/doc"

	"tieup/cmd/internal/cli"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "manual:", err)
		os.Exit(2)
	}
}

func run(args []string) error {
	if len(args) != 1 {
		return fmt.Errorf("which directory? Write: go run ./cmd/internal/manual DIR")
	}
	date, err := built()
	if err != nil {
		return err
	}
	header := doc.GenManHeader{Section: "1", Source: "tieup", Manual: "tieup manual", Date: &date}
	return doc.GenManTree(cli.Command(), &header, args[0])
}

// built is the date that the pages carry.
func built() (time.Time, error) {
	epoch := os.Getenv("SOURCE_DATE_EPOCH")
	if epoch == "" {
		return time.Now(), nil
	}
	seconds, err := strconv.ParseInt(epoch, 10, 64)
	if err != nil {
		return time.Time{}, fmt.Errorf("SOURCE_DATE_EPOCH %q: write seconds since 1970", epoch)
	}
	return time.Unix(seconds, 0).UTC(), nil
}
