package cli

import (
	"errors"
	"fmt"
	"io"
	"os/exec"
	"runtime"
	"slices"

	"github.com/spf13/cobra"

	"tieup/cmd/internal/serve"
	"tieup/gearsets"
	"tieup/kinematics"
	"tieup/plots/page"
)

type pageOptions struct {
	faults faultFlags
	mode   string
	port   int
	noOpen bool
}

func newPageCmd() *cobra.Command {
	opts := &pageOptions{}
	cmd := &cobra.Command{
		Use: "page [TRAIN [RANGE]]",
		Long: `Serve one page on this machine and open it in the browser: choose a train or
drop a train file, move the selector, add faults, and read what the train then
does and why. Half-section, gears and levers turn together at their true
relative speeds; what ties up or drives where it must not is played in frames,
each with an address of its own. In a lesson the answers are hidden until
learners have said what each range will do; a road test names suspects and the
next test; a shift is scrubbed in time; and the work behind it all is one key
away.

The address of the page holds its whole state, so a link or a bookmark is a
case; the port stays the same while it is free. The page needs no network; only
this machine reaches it. Ctrl-C ends it.`,
		Example: `  tieup page
  tieup page simpson-three-speed R --stuck forward
  tieup page simpson-three-speed --mode lesson --fault low-roller=reversed`,
		Args:              args(0, 2, "", "page takes a train and a range"),
		ValidArgsFunction: trainAndRanges(1),
		RunE:              opts.run,
	}
	opts.faults.add(cmd)
	flags := cmd.Flags()
	flags.StringVar(&opts.mode, "mode", "", "begin with a `MODE`: lesson, road-test, time or work")
	flags.IntVar(&opts.port, "port", serve.UsualPort,
		"serve on this `PORT`; the next free one if nothing was said and it is taken")
	flags.BoolVar(&opts.noOpen, "no-open", false, "open no browser")
	complete(cmd, "mode", oneOf(modes()...))
	freely(cmd, "port")
	return cmd
}

// modes are the modes that the page can begin with.
func modes() []string {
	return []string{string(page.Lesson), string(page.Test), string(page.Time), string(page.Work)}
}

func (opts *pageOptions) run(cmd *cobra.Command, args []string) error {
	start, err := opts.start(cmd, args)
	if err != nil {
		return err
	}
	if opts.port < 0 || opts.port > 65535 {
		return usagef(cmd, "--port: a port is a number from 1 to 65535, or 0 for a free one")
	}
	w := watcherOf(cmd.Context())
	w.rest() // it waits for browsers
	w.waitFor()
	return serve.Run(cmd.Context(), serve.Options{
		Port: opts.port, Near: !cmd.Flags().Changed("port"), Start: start,
		Ready: func(address string) {
			w := cmd.OutOrStdout()
			fmt.Fprintf(w, "The page is at %s\nCtrl-C ends it.\n", address)
			if !opts.noOpen {
				openBrowser(w, address)
			}
		},
	})
}

// start is the state that the arguments ask for. What is wrong with it is said
// here, not on the page.
func (opts *pageOptions) start(cmd *cobra.Command, args []string) (page.State, error) {
	st := page.State{Mode: page.Mode(opts.mode), Pace: page.UsualPace}
	if opts.mode != "" && !slices.Contains(modes(), opts.mode) {
		return st, usagef(cmd, "--mode: there is no mode %s: write %s", quote(opts.mode), kinematics.Or(modes()))
	}
	if len(args) == 0 {
		if len(opts.faults.stuck)+len(opts.faults.open)+len(opts.faults.faults) > 0 {
			return st, errors.New("faults of which train? Name it")
		}
		return st, nil
	}
	name := args[0]
	f, err := openFile(cmd, name)
	if err != nil {
		return st, err
	}
	wrong, err := opts.faults.parse(f.Train)
	if err != nil {
		return st, err
	}
	for _, fault := range wrong.Faults {
		if fault.Cause == "" {
			st.Faults = append(st.Faults, f.Train.FaultText(fault))
		}
	}
	for _, fault := range wrong.Controls() {
		st.Faults = append(st.Faults, fault.String())
	}
	if len(args) > 1 {
		if _, err := findRange(f.Train, args[1]); err != nil {
			return st, err
		}
		st.Range = args[1]
	}
	if gearsets.Source(name) != nil {
		st.Train = name
		return st, nil
	}
	if name == "-" {
		name = "train.yaml"
	}
	err = serve.Put(&st, name, f.Source)
	return st, err
}

// openBrowser opens an address in the user's browser, if there is one.
func openBrowser(w io.Writer, address string) {
	program, args := "xdg-open", []string{address}
	switch runtime.GOOS {
	case "darwin":
		program = "open"
	case "windows":
		program, args = "rundll32", []string{"url.dll,FileProtocolHandler", address}
	}
	browser := exec.Command(program, args...)
	if err := browser.Start(); err != nil {
		fmt.Fprintf(w, "No browser could be opened (%v): open the address yourself.\n", err)
		return
	}
	go browser.Wait() // it says nothing that is of use
}
