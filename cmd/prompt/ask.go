package prompt

import (
	"errors"
	"slices"
	"strings"
	"unicode/utf8"
)

// Answers that any question takes, in words.
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

// question is one question and how its answer is judged.
type question struct {
	text, help, preset string
	words              []string // that complete it
	free               bool     // any text is an answer, even a word such as back
	check              func(answer string) error
}

// asker asks questions until an answer passes.
type asker struct {
	Prompter
	Width int    // of the terminal, columns
	rules string // what any question takes
}

func (a *asker) ask(q *question) (string, error) {
	for {
		answer, err := a.Ask(lastLine(a, q.text, q.preset, a.Width), q.preset, append(slices.Clone(q.words), backWord, moreWord, doneWord))
		if err != nil {
			return "", err
		}
		switch {
		case slices.Contains(q.words, answer):
			return answer, nil
		case q.free && answer != helpWord:
		case answer == backWord:
			return "", errBack
		case answer == moreWord:
			return "", errMore
		case answer == doneWord:
			return "", errDone
		case answer == helpWord:
			a.Say("%s%s", Wrap("  ", q.help, a.Width), Wrap("  ", a.rules, a.Width))
			continue
		}
		if q.check != nil && answer != "" {
			if err := q.check(answer); err != nil {
				a.Say("%s", Wrap("  ", err.Error(), a.Width))
				continue
			}
		}
		return answer, nil
	}
}

// lastLine is what of a question stands where it is answered: of one longer than a
// line of its width the rest is said before.
func lastLine(p Prompter, text, preset string, width int) string {
	room := width - utf8.RuneCountInString(offered("", preset))
	if width == 0 || utf8.RuneCountInString(text) <= room {
		return text
	}
	lines := strings.Split(strings.TrimSuffix(Wrap(text[:len(text)-len(strings.TrimLeft(text, " "))], text, room), "\n"), "\n")
	last := len(lines) - 1
	if last > 0 {
		p.Say("%s\n", strings.Join(lines[:last], "\n"))
	}
	return lines[last]
}

// Wrap is a text in lines of a width, broken at blanks. The first begins with
// bullet, the others are set in.
func Wrap(bullet, text string, width int) string {
	return wrapped(bullet, strings.Fields(text), " ", width)
}

// narrowest is the width that text is broken to at least.
const narrowest = 20

// wrapped is items in lines of a width, none of them broken.
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
