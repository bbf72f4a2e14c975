// Package prompt asks a person for a dive, a line at a time. It assumes that
// who stands at the water's edge must never wait for the tool nor be stopped
// by it: every line is on disk before the next is asked for, a reading that
// looks wrong is asked about once, and the person's answer stands.
package prompt

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/ergochat/readline"

	"sagline/session/problem"
)

// A Prompter asks one question at a time.
type Prompter interface {
	// Ask shows a question and returns the answer without blanks around it.
	// preset is what Enter alone answers; words can be completed. Its error is
	// io.EOF where input has ended, ErrInterrupted where the person broke off.
	Ask(question, preset string, words []string) (string, error)
	// Say shows text, lines and all.
	Say(format string, args ...any)
	Close() error
}

// ErrInterrupted says that the person broke off with ctrl-C.
var ErrInterrupted = errors.New("broken off")

// none is the answer that means nothing where there is a preset.
const none = "-"

// plain asks in lines of text, for screen readers, for a terminal that can do
// no more, and for no terminal at all.
type plain struct {
	in  *bufio.Reader
	out io.Writer
}

// Plain asks through any reader and writer.
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

// offered is a question with what Enter alone answers. That does not stand in
// the line to be edited: most answers are another, and would have to rub it out
// first.
func offered(question, preset string) string {
	if preset != "" {
		question += " [" + preset + "]"
	}
	return problem.Visible(question + " > ")
}

// chosen is what a typed line answers.
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

// Terminal asks on the terminal that the program runs in: answers can be
// edited, and Tab completes.
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

// Do completes the word being typed: after the last +, since a name may have
// blanks, else after the last blank.
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
