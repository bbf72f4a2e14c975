package importer

import (
	"slices"
	"strings"
	"unicode"
)

// reversed and offWords are how people write that a thruster ran astern or
// down, and that none ran.
var (
	reversed  = strings.Fields("astern down rev reverse reversed back backward backwards ruckwarts zuruck runter ab arriere atras")
	forwards  = strings.Fields("ahead fwd forward forwards up vor vorwarts auf hoch avant")
	offWords  = strings.Fields("off none nothing aus keine keiner rest idle stop 0 arret")
	bothWords = strings.Fields("both beide all alle")
)

// parts are the thrusters that a cell names, one each.
func parts(cell string) []string {
	for _, joint := range []string{" and ", " und ", " et ", " y ", " en ", "&", "/", ",", ";"} {
		cell = strings.ReplaceAll(cell, joint, "+")
	}
	var out []string
	for p := range strings.SplitSeq(cell, "+") {
		if p = strings.Join(strings.Fields(p), " "); p != "" {
			out = append(out, p)
		}
	}
	return out
}

// drives is a cell of thrusters as it is written, and what it could not make
// sense of.
func (m *Mapping) drives(cell string, known []string) (written string, unknown []string) {
	if to, ok := m.lookUp(cell); ok && to != Asked {
		return to, nil
	}
	if slices.Contains(offWords, folded(cell)) {
		return "off", nil
	}
	var out []string
	for _, p := range parts(cell) {
		to, name := m.drive(p, known)
		if to == "" {
			unknown = append(unknown, name)
			continue
		}
		out = append(out, to)
	}
	return strings.Join(out, " + "), unknown
}

// unknownDrives are the words of a cell that are to be asked about.
func (m *Mapping) unknownDrives(cell string, known []string) []string {
	_, unknown := m.drives(cell, known)
	return unknown
}

// drive is one thruster as it is written, "" where its name is not known.
func (m *Mapping) drive(part string, known []string) (to, name string) {
	if to, ok := m.lookUp(part); ok && to != Asked {
		return to, part
	}
	name, way := part, ""
	if i := strings.LastIndexByte(part, ' '); i > 0 {
		switch last := folded(part[i+1:]); {
		case slices.Contains(reversed, last):
			name, way = part[:i], " astern"
		case slices.Contains(forwards, last):
			name = part[:i]
		}
	}
	if to, ok := m.lookUp(name); ok && to != Asked {
		return to + way, name
	}
	for _, k := range known {
		if strings.EqualFold(k, name) {
			return k + way, name
		}
	}
	if len(known) == 0 { // no vehicle to hold them against
		return name + way, name
	}
	return "", name
}

func (m *Mapping) lookUp(word string) (string, bool) {
	for from, to := range m.Thrusters {
		if strings.EqualFold(from, word) {
			return to, true
		}
	}
	return "", false
}

// sides are what the common names of thrusters begin with, by the side that
// they stand for.
var sides = map[string][]string{
	"port":      {"port", "p", "l", "left", "links", "li", "bb", "backbord", "gauche", "izquierda"},
	"starboard": {"starboard", "stbd", "s", "sb", "r", "right", "rechts", "re", "stb", "steuerbord", "droite", "derecha"},
	"vertical":  {"vertical", "vert", "v", "up", "down", "heave", "lift", "vertikal", "hub", "auf", "hoch"},
}

// guessDrive is the vehicle's thruster that a word most likely names, or
// Asked. It is shown before it is used.
func guessDrive(word string, known []string) string {
	w := folded(word)
	for _, side := range []string{"port", "starboard", "vertical"} {
		if !slices.Contains(sides[side], w) {
			continue
		}
		for _, k := range known {
			if slices.Contains(sides[side], folded(k)) {
				if slices.Contains(reversed, w) {
					return k + " down"
				}
				return k
			}
		}
	}
	if slices.Contains(bothWords, w) && len(known) == 2 {
		return strings.Join(known, " + ")
	}
	return Asked
}

func folded(s string) string {
	return strings.TrimFunc(strings.Join(wordsOf(s), " "), unicode.IsSpace)
}
