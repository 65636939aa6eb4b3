//go:build unix

package cli

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// A heavy train is one within the limits of a train file of which much is to be computed.
type heavy struct {
	name                           string
	shafts, sets, joints, elements []string
	applied                        []string // in range D1
	further                        []string // what ranges D2, D3 and so on apply
}

func (h *heavy) source() string {
	var b strings.Builder
	fmt.Fprintf(&b, "tieup: 1\nname: %s\nsource: invented for a test\nrated-torque: 100\nshafts: [%s]\n", h.name,
		strings.Join(h.shafts, ", "))
	for _, part := range []struct {
		key   string
		lines []string
	}{{"gearsets", h.sets}, {"joined", h.joints}, {"elements", h.elements}} {
		fmt.Fprintf(&b, "%s:\n  %s\n", part.key, strings.Join(part.lines, "\n  "))
	}
	fmt.Fprintf(&b, "input: in\noutput: out\nranges:\n  N: {}\n  D1: {apply: [%s]}\n", strings.Join(h.applied, ", "))
	names := []string{"D1"}
	for i, apply := range h.further {
		names = append(names, fmt.Sprintf("D%d", i+2))
		fmt.Fprintf(&b, "  D%d: {apply: [%s]}\n", i+2, apply)
	}
	fmt.Fprintf(&b, "positions: {N: [N], D: [%s]}\n", strings.Join(names, ", "))
	return b.String()
}

// add adds an element that range D1 applies.
func (h *heavy) add(name, what string) {
	h.elements, h.applied = append(h.elements, name+": {"+what+"}"), append(h.applied, name)
}

// heavies are invented: n brakes on one ring; a clutch between every two of n shafts; n pairs
// of clutches in a row; n simple sets in a row, each turned by the one before, whose brakes
// are all applied; such sets with a clutch beside each brake, and shifts between them; and
// with a one-way clutch beside each brake, so that each of 2^n combinations has a ratio.
func heavies(brakes, clique, ladder, series, splitter, wheels int) []*heavy {
	loose := []string{"set: {kind: simple, sun: 30, ring: 70, pinion: 20}"}
	x := &heavy{name: "brakes", shafts: []string{"in", "out"}, sets: loose,
		joints: []string{"a: [in, set.sun]", "z: [out, set.carrier]"}}
	for i := range brakes {
		x.add(fmt.Sprintf("e%d", i), "brake: set.ring")
	}
	x.further = []string{"e0"}
	list := []*heavy{x}

	x = &heavy{name: "clique", shafts: []string{"in", "out"}, sets: loose, joints: []string{"a: [in, set.sun]"}}
	for i := 2; i < clique; i++ {
		x.shafts = append(x.shafts, fmt.Sprintf("s%d", i))
	}
	for i := range x.shafts {
		for k := range i {
			x.add(fmt.Sprintf("e%d-%d", k, i), "clutch: ["+x.shafts[k]+", "+x.shafts[i]+"]")
		}
	}
	x.further = []string{x.applied[0]}
	list = append(list, x)

	x = &heavy{name: "ladder", shafts: []string{"in"}, sets: loose, joints: []string{"a: [in, set.sun]"}}
	for i := range ladder {
		last, next := x.shafts[i], fmt.Sprintf("s%d", i)
		if i == ladder-1 {
			next = "out"
		}
		x.shafts = append(x.shafts, next)
		x.add(fmt.Sprintf("e%da", i), "clutch: ["+last+", "+next+"]")
		x.add(fmt.Sprintf("e%db", i), "clutch: ["+last+", "+next+"]")
	}
	x.further = []string{strings.Join(x.applied[1:], ", ")}
	list = append(list, x)

	for kind, n := range []int{series, splitter, wheels} {
		x = &heavy{name: []string{"series", "splitter", "wheels"}[kind], shafts: []string{"in", "out"}}
		last := "in"
		for i := range n {
			set := fmt.Sprintf("g%d", i)
			x.sets = append(x.sets, fmt.Sprintf("%s: {kind: simple, sun: %d, ring: %d, pinion: %d}", set, 30+i/5,
				70+i/5+i%5*2, 20+i%5))
			x.joints = append(x.joints, fmt.Sprintf("j%s: [%s, %s.sun]", set, last, set))
			x.add("b"+set, "brake: "+set+".ring")
			switch kind {
			case 1:
				x.elements = append(x.elements, fmt.Sprintf("c%s: {clutch: [%s.sun, %s.carrier]}", set, set, set))
			case 2:
				x.elements = append(x.elements, fmt.Sprintf("w%s: {one-way: [%s.sun, %s.carrier]}", set, set, set))
			}
			last = set + ".carrier"
		}
		x.joints = append(x.joints, "z: ["+last+", out]")
		for k := 1; k <= 4; k++ {
			apply := strings.Join(x.applied[:n-k*n/5], ", ")
			if kind == 1 {
				for i := n - k*n/5; i < n; i++ {
					apply += fmt.Sprintf(", cg%d", i)
				}
			}
			if kind > 0 || k == 1 {
				x.further = append(x.further, apply)
			}
		}
		list = append(list, x)
	}
	return list
}

// heavyCommands are those that ask about a train T; E stands for an element, S for a sheet, and
// DIR for a folder to write into.
const heavyCommands = `show T
show T --format yaml
solve T
solve T --stuck E
solve T --format json
chart T
chart T --stuck E
why T D1
why T N --stuck E
why T D2 --stuck E --format json
turn T --turn in=1 --hold out
states T
states T --all
load T
load T D1 --format json
load T D1 --overall-efficiency 0.9
breakaway T D1
breakaway T N --stuck E
breakaway T D1 --format json
shifts T
shifts T --stuck E
transient T D1 D2
transient T D1 D1
transient T N D1 --sweep release
transient T D1 D2 --stuck E
diagnose T
diagnose T --saw D1=none
diagnose T --saw D1=bind --saw N=forward
diagnose T --saw D1=slips --faults 3
diagnose T --found E=burnt
diagnose T --suspect E=stuck
interview T --save DIR/new.yaml --force
identify T --speeds in=1800,out=1000
sheet T
sheet T --paper
wear T --stuck E
plan T
plan T --pairs
worksheet T
worksheet T --key --count 20
check T
plot speeds T D1 -o DIR/a.svg --force
plot lever T -o DIR/b.svg --force
plot chart T -o DIR/c.pdf --force
plot faults T -o DIR/d.pdf --force
plot ladder T -o DIR/e.svg --force
plot path T -o DIR/f.svg --force
plot breakaway T D1 -o DIR/g.svg --force
plot transient T D1 D2 -o DIR/h.svg --force
case S
case S --report bench -o DIR/i.pdf --force`

// cpu is the time that this process has computed.
func cpu() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		panic(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// TestHeavyTrains asks every command about trains of which much is to be computed. Before it
// has computed for two seconds it has answered, or said what it is at; interrupted, it ends,
// and says how far it came. Times are those of the processor, and fail only at three times what
// is promised: other work on the machine takes its caches.
func TestHeavyTrains(t *testing.T) {
	if testing.Short() {
		t.Skip("what is promised is promised of a program without the race detector")
	}
	const promise, slack = 2 * time.Second, 3
	var list []*heavy
	wait := 300 * time.Millisecond // before it is interrupted, once it has spoken
	switch os.Getenv("TIEUP_EXHAUSTIVE") {
	case "": // small ones, one command in three, interrupted at once
		list, wait = heavies(9, 4, 4, 4, 3, 3), 0
	case "1":
		list, wait = heavies(95, 12, 40, 50, 50, 50), promise
		list = append(list, heavies(20, 6, 10, 20, 20, 16)[3:]...)
	default:
		list = heavies(95, 12, 40, 50, 50, 16)
	}
	for k, h := range list {
		dir := t.TempDir()
		train, sheet := filepath.Join(dir, h.name+".yaml"), filepath.Join(dir, "sheet.yaml")
		if err := os.WriteFile(train, []byte(h.source()), 0o600); err != nil {
			t.Fatal(err)
		}
		seen := fmt.Appendf(nil, "sheet: 1\ntrain: %s.yaml\nseen: {D1: none}\n", h.name)
		if err := os.WriteFile(sheet, seen, 0o600); err != nil {
			t.Fatal(err)
		}
		for n, command := range strings.Split(heavyCommands, "\n") {
			if wait == 0 && (k+n)%3 > 0 {
				continue
			}
			args := strings.Fields(command)
			for i, word := range args {
				if word = strings.Replace(word, "DIR", dir, 1); strings.Contains(word, "E=") || word == "E" {
					word = strings.Replace(word, "E", h.applied[0], 1)
				}
				args[i] = map[string]string{"T": train, "S": sheet}[word]
				if args[i] == "" {
					args[i] = word
				}
			}
			ctx, interrupt := context.WithCancel(t.Context())
			root := Command()
			var out, errs bytes.Buffer
			root.SetOut(&out)
			root.SetErr(&errs)
			root.SetIn(strings.NewReader("\n\n1\n1\n1\nstop\n"))
			ctx, w := withWatcher(ctx, &errs)
			root.SetContext(ctx)
			begin, spoke, said := cpu(), time.Duration(0), ""
			ended := make(chan int, 1)
			go func() { ended <- execute(root, args, &errs, w) }()
			code, stopped := -1, time.Duration(0)
			for tick := time.Tick(5 * time.Millisecond); code < 0; {
				select {
				case code = <-ended:
				case <-tick:
					if spoke == 0 && w.at() != "" {
						spoke, said = cpu()-begin, w.at()
					}
					switch now := cpu() - begin; {
					case stopped == 0 && spoke > 0 && now > spoke+wait:
						stopped = now
						interrupt()
					case stopped == 0 && spoke == 0 && now > 5*promise:
						t.Fatalf("%s: %s: silent for %s", h.name, command, now)
					case stopped > 0 && now > stopped+5*promise:
						t.Fatalf("%s: %s: does not end", h.name, command)
					}
				}
			}
			interrupt()
			took := cpu() - begin
			if spoke > slack*promise || spoke == 0 && took > slack*promise {
				t.Errorf("%s: %s: computes for %s before it says%s", h.name, command, max(spoke, took), said)
			}
			if stopped > 0 && took > stopped+slack*promise/2 {
				t.Errorf("%s: %s: takes %s to end, interrupted%s", h.name, command, took-stopped, said)
			}
			text := strings.TrimSpace(errs.String())
			switch {
			case code == exitWrong && strings.HasPrefix(text, "tieup: ") && !strings.Contains(text, "interrupted"):
			case code == exitAnswered && out.Len() > 0:
			case code == exitInterrupted && stopped > 0 && strings.HasPrefix(text, "tieup: interrupted"):
			default:
				t.Errorf("%s: %s: exit %d, %q, %d bytes printed", h.name, command, code, text, out.Len())
			}
			t.Logf("%-9s %-45s %5.2f s, says%s at %.2f, exit %d", h.name, command, took.Seconds(), said, spoke.Seconds(), code)
		}
	}
}
