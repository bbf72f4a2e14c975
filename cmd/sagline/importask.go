package main

import (
	"io"
)

// dialogue asks, one question at a time, for what the file does not tell.
func (o *importOptions) dialogue(im *importing, in io.Reader, out io.Writer) error {
	if len(im.result.Asked) == 0 {
		return nil
	}
	p, err := asker(in, out, false)
	if err != nil {
		return err
	}
	defer p.Close()
	p.Say("%s does not say everything. Enter alone takes what stands in brackets.\n", im.file)
	for len(im.result.Asked) > 0 {
		q, preset := &im.result.Asked[0], ""
		p.Say("\n")
		p.PrintWrapped("", q.Text)
		if len(q.Choices) > 0 {
			preset = q.Choices[0]
			p.PrintWrapped("  ", "one of: "+q.Offered())
		}
		answer, err := p.Ask("answer", preset, q.Choices)
		if err != nil {
			return err
		}
		if err := q.Answer(answer); err != nil {
			p.PrintWrapped("", err.Error())
			continue
		}
		im.answered = true
		o.convert(im)
	}
	return nil
}
