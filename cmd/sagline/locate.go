package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"sagline/cmd/prompt"
	"sagline/predict/findings"
	"sagline/predict/fit"
	"sagline/predict/locate"
	"sagline/predict/vehicle"
	"sagline/session"
	"sagline/session/problem"
)

// locateOptions are the flags of locate.
type locateOptions struct {
	fault, repaired string
	reads, without  []string
	plain           bool
}

// locating is the state of one call of locate.
type locating struct {
	*locate.Search
	*locateOptions
	dir string
	log *session.Log
	out io.Writer
}

func newLocate() *cobra.Command {
	var o locateOptions
	c := &cobra.Command{
		Use: "locate [LOGBOOK]", Short: "From a finding to the spot: which joint, which leg, which tube",
		Long: "locate says which reading to make next to find the spot of a fault that trend has found, or of the\n" +
			"worst resistance where it has found none, and what each answer would mean. At a terminal it asks for\n" +
			"the reading. Readings are kept in locate.csv: a search goes on another day. [[joint]] in vehicle.toml\n" +
			"names joints and says which of them a meter's tips reach.",
		Example: "  $ sagline locate examples/joint --fault power_loop\n" +
			"  $ sagline locate examples/joint --fault power_loop --read \"ohms shorted after box = 0.71 ohm, 14 C\"\n" +
			"  $ sagline locate examples/joint --fault branch:port --without clamp --json",
		Args: upTo(1),
		RunE: func(cmd *cobra.Command, args []string) error { return runLocate(cmd, folder(args), &o) },
	}
	f := c.Flags()
	f.StringVar(&o.fault, "fault", "", "what to search for, as trend names it (default: what it found)")
	f.StringArrayVar(&o.reads, "read", nil, "a reading: \"TEST = 182 mV, 5.2 A\", or the reading alone for the test that is next")
	f.StringVar(&o.repaired, "repaired", "", "what was repaired: ends the search, and is written into the log as a note")
	f.StringSliceVar(&o.without, "without", nil, "instruments that are not at hand, of "+strings.Join(locate.Instruments, ", "))
	f.Bool("json", false, "print the results as JSON")
	f.BoolVar(&o.plain, "plain", false, "ask in plain lines of text, as for a screen reader")
	_ = c.RegisterFlagCompletionFunc("without", begunWith(listed(locate.Instruments)))
	_ = c.RegisterFlagCompletionFunc("fault", begunWith(ofVehicle(func(v *vehicle.Vehicle, _ string) []string { return locate.Searchable(v) })))
	return c
}

func runLocate(cmd *cobra.Command, dir string, o *locateOptions) error {
	for _, w := range o.without {
		if !slices.Contains(locate.Instruments, w) {
			return useError{fmt.Errorf("--without: found %s, want of %s%s", problem.Quote(w), strings.Join(locate.Instruments, ", "), problem.Suggest(w, locate.Instruments))}
		}
	}
	r, rep, log, err := analyse(cmd, dir)
	if err != nil {
		return err
	}
	s, err := locate.Begin(r, rep, o.fault, o.without)
	if err != nil {
		return useError{fmt.Errorf("--fault: %w", err)}
	}
	if o.fault == "" && !s.Found() && len(rep.Findings) > 0 {
		f := &rep.Findings[0]
		then := f.CheckNext
		if f.Fault == "ingress" {
			then = "name the tubes in vehicle.toml, under [[tube]]"
		}
		fmt.Fprintf(cmd.ErrOrStderr(), "what was found, %s, is not searched for by readings: %s\n", f.Cause.Words, then)
	}
	lines, err := session.ReadLocate(dir)
	if err != nil {
		return err
	}
	for _, p := range s.Resume(lines, log) {
		fmt.Fprintln(cmd.ErrOrStderr(), p)
	}
	l := &locating{Search: s, locateOptions: o, dir: dir, log: log, out: cmd.OutOrStdout()}
	return l.run(cmd)
}

func (l *locating) run(cmd *cobra.Command) error {
	if l.repaired != "" {
		return l.repair()
	}
	for _, read := range l.reads {
		if err := l.take(read); err != nil {
			return err
		}
	}
	if wantsJSON(cmd) {
		return printJSON(l.out, l.State())
	}
	if in := cmd.InOrStdin(); len(l.reads) == 0 && (l.plain || terminal(in) && terminal(l.out)) {
		return l.ask(in)
	}
	printSearch(l.out, l.State())
	fmt.Fprintln(l.out, "\n"+l.then())
	return nil
}

// take adds a reading given by --read and writes it into locate.csv.
func (l *locating) take(read string) error {
	test, reading, named := strings.Cut(read, "=")
	if !named {
		next := l.State().Next
		if next == nil {
			return useError{errors.New("--read: the search has ended, no test is next")}
		}
		test, reading = next.Test, read
	}
	if err := l.Typed(test, strings.TrimSpace(reading)); err != nil {
		return useError{fmt.Errorf("--read: %w", err)}
	}
	return l.keep(strings.TrimSpace(test), strings.TrimSpace(reading))
}

// keep writes a reading into locate.csv.
func (l *locating) keep(test, reading string) error {
	return session.AppendLocate(l.dir, session.LocateLine{Search: l.Fault, AfterDive: l.newest(), Date: today().Format(time.DateOnly), Test: test, Reading: reading})
}

// newest returns the label of the log's newest dive, "" for none.
func (l *locating) newest() string {
	if n := len(l.log.Dives); n > 0 {
		return l.log.Dives[n-1].Label
	}
	return ""
}

// repair ends the search, with a note in the log.
func (l *locating) repair() error {
	if err := l.keep(session.Repaired, l.repaired); err != nil {
		return err
	}
	if dive := l.newest(); dive != "" {
		note := "repaired: " + l.repaired + "; " + l.State().Summary()
		if err := session.Edit(l.dir, func(f *session.File) error { return f.Append(session.Row{"dive": dive, "note": note}) }); err != nil {
			return err
		}
	}
	fmt.Fprintf(l.out, "%s: written down; next: measure it once more, and put %s under serviced on the next dive's first line\n", l.dir, l.Serviced())
	return nil
}

// then words the next step of the search.
func (l *locating) then() string {
	st := l.State()
	if st.Result != nil {
		return fmt.Sprintf("next: repair it, then sagline locate %s --fault %s --repaired %q", shellWord(l.dir), shellWord(l.Fault), st.Result.Spots[0])
	}
	return fmt.Sprintf("next: make that reading, then sagline locate %s --fault %s --read %q", shellWord(l.dir), shellWord(l.Fault), st.Next.Test+" = …")
}

// ask asks for reading after reading at a terminal.
func (l *locating) ask(in io.Reader) error {
	p, err := asker(in, l.out, l.plain)
	if err != nil {
		return err
	}
	defer p.Close()
	for {
		st := l.State()
		printSearch(l.out, st)
		if st.Result != nil {
			fmt.Fprintln(l.out, "\n"+l.then())
			return nil
		}
		again, err := l.askOne(p, st.Next)
		if err != nil || !again {
			return err
		}
	}
}

// askOne asks for the reading of one test until it is valid. It returns false to stop asking.
func (l *locating) askOne(p prompt.Prompter, next *locate.Proposal) (bool, error) {
	for {
		answer, err := p.Ask("reading, or skip, or done", "", []string{"skip", "done"})
		switch {
		case errors.Is(err, io.EOF), errors.Is(err, prompt.ErrInterrupted), answer == "done":
			p.Say("kept: %s; next: %s goes on\n", problem.Count(len(l.State().Taken), "reading"), "sagline locate "+shellWord(l.dir)+" --fault "+shellWord(l.Fault))
			return false, nil
		case err != nil:
			return false, err
		case answer == "":
			continue
		case answer == "skip":
			l.Skip(next.Test)
			return true, nil
		}
		if err := l.Typed(next.Test, answer); err != nil {
			p.Say("  %v\n", err)
			continue
		}
		return true, l.keep(next.Test, answer)
	}
}

func printSearch(w io.Writer, st *locate.State) {
	found := "nothing found: the worst spot, if any"
	if st.Since != "" {
		found = "found since dive " + st.Since
		if st.Suspected {
			found = "perhaps, since dive " + st.Since
		}
	}
	fmt.Fprintf(w, "\n%s: %s (%s)\n", st.Vehicle, strings.ReplaceAll(st.Fault, "_", " "), found)
	for _, t := range st.Taken {
		slip := ""
		if t.Slip {
			slip = ": no spot explains that, and it is taken for a slip: read it again"
		}
		fmt.Fprintf(w, "  read: %s = %s%s\n", t.Test, t.Reading, slip)
	}
	table(w, func(w io.Writer) {
		for i, sp := range st.Spots {
			if i < 3 || sp.Probability >= 0.05 {
				fmt.Fprintf(w, "  %s\t%s\n", sp.Name, findings.Sure(sp.Probability))
			}
		}
	})
	if st.Result != nil {
		fmt.Fprintf(w, "it is %s (%s)\n", strings.Join(st.Result.Spots, " or "), findings.Sure(st.Result.Probability))
		fmt.Fprint(w, prompt.Wrap("  ", st.Result.Repair, 78))
		return
	}
	n := st.Next
	fmt.Fprintf(w, "next: %s (about %.0f minutes)\n", n.Test, n.Minutes)
	fmt.Fprint(w, prompt.Wrap("  ", n.Do, 78))
	fmt.Fprint(w, prompt.Wrap("  mind: ", n.Safety, 78))
	for _, e := range n.Expect {
		fmt.Fprintf(w, "  %s\n", e)
	}
	if len(n.Opens) > 0 {
		fmt.Fprint(w, prompt.Wrap("  costs: ", strings.Join(n.Opens, " and ")+" cannot be reached as it is: it has to be opened for this, and sealed again", 78))
	}
}

// searchState returns a sentence on each search that has readings in locate.csv.
func searchState(r *fit.Result, rep *findings.Report, log *session.Log, dir string) (out []string, err error) {
	lines, err := session.ReadLocate(dir)
	for _, fault := range locate.Searchable(r.Model.Vehicle) {
		if !slices.ContainsFunc(lines, func(l session.LocateLine) bool { return l.Search == fault }) {
			continue
		}
		s, err := locate.Begin(r, rep, fault, nil)
		if err != nil {
			return nil, err
		}
		_ = s.Resume(lines, log) // locate reports lines that do not count
		if st := s.State(); len(st.Taken) > 0 {
			out = append(out, st.Summary())
		}
	}
	return out, err
}
