// Package prompt asks a person for a dive, line by line. At the water's edge a person must never
// wait for the tool or be stopped by it: every line is on disk before the next is asked for, a
// reading that looks wrong is asked about once, and the person's answer stands.
package prompt

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/ergochat/readline"

	"sagline/session/problem"
)

// A Prompter asks one question at a time.
type Prompter interface {
	// Ask shows a question and returns the answer without blanks around it. preset is what
	// Enter alone answers; words can be completed. The error is io.EOF if input has ended,
	// ErrInterrupted if the person pressed ctrl-C.
	Ask(question, preset string, words []string) (string, error)
	// Say shows a formatted text, with the line breaks that it has.
	Say(format string, args ...any)
	Close() error
}

// ErrInterrupted says that the person pressed ctrl-C.
var ErrInterrupted = errors.New("broken off")

// none is the answer for "not measured" where Enter alone would answer the preset.
const none = "-"

// plain asks in plain lines of text: for screen readers, simple terminals, and input that is not a
// terminal.
type plain struct {
	in  *bufio.Reader
	out io.Writer
}

// Plain returns a Prompter on any reader and writer.
func Plain(in io.Reader, out io.Writer) Prompter { return &plain{bufio.NewReader(in), out} }

func (p *plain) Ask(question, preset string, _ []string) (string, error) {
	fmt.Fprint(p.out, offered(question, preset))
	line, err := p.in.ReadString('\n')
	if err != nil && (strings.TrimSpace(line) == "" || !errors.Is(err, io.EOF)) {
		fmt.Fprintln(p.out)
		return "", err
	}
	return chosen(line, preset), nil
}

// offered returns a question with what Enter alone answers. The preset is not put into the line as
// editable text, since most answers differ from it and would have to delete it first.
func offered(question, preset string) string {
	if preset != "" {
		question += " [" + preset + "]"
	}
	return problem.Visible(question + " > ")
}

// chosen returns the answer that a typed line gives.
func chosen(line, preset string) string {
	switch line = strings.TrimSpace(line); line {
	case "":
		return preset
	case none:
		return ""
	}
	return line
}

func (p *plain) Say(format string, args ...any) { fmt.Fprintf(p.out, format, args...) }

func (p *plain) Close() error { return nil }

// terminal asks with a line editor.
type terminal struct {
	rl    *readline.Instance
	words []string
}

// Terminal returns a Prompter on the program's terminal: answers can be edited, and Tab completes.
func Terminal(in io.Reader, out io.Writer) (Prompter, error) {
	t := &terminal{}
	rl, err := readline.NewFromConfig(&readline.Config{Stdin: in, Stdout: out, Stderr: out, HistoryLimit: -1, AutoComplete: t,
		InterruptPrompt: "^C", EOFPrompt: "done"})
	t.rl = rl
	return t, err
}

func (t *terminal) Ask(question, preset string, words []string) (string, error) {
	t.words = words
	t.rl.SetPrompt(offered(question, preset))
	line, err := t.rl.ReadLine()
	if errors.Is(err, readline.ErrInterrupt) {
		err = ErrInterrupted
	}
	return chosen(line, preset), err
}

// Do completes the text after the last +, since a name may contain blanks, or else after the last
// blank.
func (t *terminal) Do(line []rune, pos int) (rest [][]rune, length int) {
	for _, apart := range []string{"+", "+ "} {
		typed := string(line[:pos])
		typed = strings.TrimLeft(typed[strings.LastIndexAny(typed, apart)+1:], " ")
		for _, w := range t.words {
			if tail, ok := strings.CutPrefix(w, typed); ok && tail != "" && typed != "" {
				rest = append(rest, []rune(tail))
			}
		}
		if len(rest) > 0 {
			return rest, len([]rune(typed))
		}
	}
	return nil, 0
}

func (t *terminal) Say(format string, args ...any) {
	fmt.Fprint(t.rl.Stdout(), problem.Clean(fmt.Sprintf(format, args...)))
}

func (t *terminal) Close() error { return t.rl.Close() }

// Answers that every question accepts.
const (
	backWord = "back"
	moreWord = "more"
	doneWord = "done"
	helpWord = "?"
)

var (
	errBack = errors.New("back")
	errDone = errors.New("done")
	errMore = errors.New("more")
)

// question is one question and the check of its answer.
type question struct {
	text, help, preset string
	words              []string // completions, which are also accepted without check
	check              func(answer string) error
}

// An Asker asks questions until an answer passes.
type Asker struct {
	Prompter
	Width int    // of the terminal, columns
	rules string // help on what every question accepts
}

// PrintWrapped shows a text wrapped to the terminal's width. The first line begins with bullet.
func (a *Asker) PrintWrapped(bullet, text string) { a.Say("%s", Wrap(bullet, text, a.Width)) }

// list is PrintWrapped for items, which are not broken.
func (a *Asker) list(bullet string, items []string, between string) {
	a.Say("%s", wrapped(bullet, items, between, a.Width))
}

func (a *Asker) ask(q *question) (string, error) {
	for {
		answer, err := a.Ask(a.lastLine(q.text, q.preset), q.preset, append(slices.Clone(q.words), backWord, moreWord, doneWord))
		if err != nil {
			return "", err
		}
		switch {
		case slices.Contains(q.words, answer):
			return answer, nil
		case answer == backWord:
			return "", errBack
		case answer == moreWord:
			return "", errMore
		case answer == doneWord:
			return "", errDone
		case answer == helpWord:
			a.PrintWrapped("  ", q.help)
			a.PrintWrapped("  ", a.rules)
			continue
		}
		if q.check != nil && answer != "" {
			if err := q.check(answer); err != nil {
				a.PrintWrapped("  ", err.Error())
				continue
			}
		}
		return answer, nil
	}
}

// lastLine returns the part of a question that stands on the line of its answer. It shows the part
// that does not fit there first.
func (a *Asker) lastLine(text, preset string) string {
	room := a.Width - utf8.RuneCountInString(offered("", preset))
	if a.Width == 0 || utf8.RuneCountInString(text) <= room {
		return text
	}
	lines := strings.Split(strings.TrimSuffix(Wrap(text[:len(text)-len(strings.TrimLeft(text, " "))], text, room), "\n"), "\n")
	last := len(lines) - 1
	if last > 0 {
		a.Say("%s\n", strings.Join(lines[:last], "\n"))
	}
	return lines[last]
}

// Wrap returns a text in lines of a width, broken at blanks. The first line begins with bullet; the
// others are indented.
func Wrap(bullet, text string, width int) string {
	return wrapped(bullet, strings.Fields(text), " ", width)
}

// narrowest is the least width to which text is wrapped, in columns.
const narrowest = 20

// wrapped returns items in lines of a width, without breaking any item.
func wrapped(bullet string, items []string, between string, width int) string {
	var b strings.Builder
	line := bullet
	for i, item := range items {
		switch {
		case i == 0:
			line += item
		case utf8.RuneCountInString(line+between+item) > max(width, narrowest):
			b.WriteString(line + "\n")
			line = "  " + item
		default:
			line += between + item
		}
	}
	return b.String() + line + "\n"
}
