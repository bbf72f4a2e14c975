package findings

import (
	"sagline/predict/causes"
	"sagline/predict/fit"
	"sagline/session/units"
)

// An Estimate is a value with its 95 % interval.
type Estimate struct {
	Value float64 `json:"value"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
}

// A Report is what a log shows: dive by dive, as trends, alarms and findings.
// Its JSON form is stable; Schema counts up when it changes.
type Report struct {
	Schema   int       `json:"schema"`
	Vehicle  string    `json:"vehicle"`
	Dives    []Dive    `json:"dives"`
	Trends   []Trend   `json:"trends"`
	Alarms   []Alarm   `json:"alarms"`
	Findings []Finding `json:"findings"`
	Rebuilt  []string  `json:"rebuilt,omitempty"` // what, from which dive on
	Remarks  []string  `json:"remarks"`           // where the file is off, and what the readings cannot tell
	Judged   bool      `json:"judged"`            // there are dives after the baseline
	Baseline int       `json:"baseline_dives"`    // how many the baseline wants

	Unsettled bool   `json:"-"` // the calibration did not converge, as a remark says
	Differs   string `json:"-"` // how its baseline is not what its file says, in a clause; remarks say by how much; "": it is

	Units   units.System `json:"-"` // that a person is shown it in
	Statics fit.Statics  `json:"-"` // what all dives say of the vehicle when sound
}

// A Dive is one dive's own estimates, by quantity.
type Dive struct {
	Dive      string              `json:"dive"`
	Date      string              `json:"date"` // ISO 8601 day, "" where it is not known
	SetAside  []fit.Outlier       `json:"set_aside"`
	Estimates map[string]Estimate `json:"estimates"`
	Serviced  []string            `json:"serviced,omitempty"`
	Rebuilt   []string            `json:"rebuilt,omitempty"` // keys of vehicle.toml that changed just before it
	fit.Looks
}

// LooksFailed says that a dive's readings look as if a thruster failed, as its estimates then have it, "" where they do not.
func (d *Dive) LooksFailed() string {
	as := d.AsIf()
	if as == "" {
		return ""
	}
	return "its readings look " + as
}

// Of is a day behind the label of a dive, in words; "" for a day that is not known.
func Of(day string) string {
	if day == "" {
		return ""
	}
	return " of " + day
}

// A Trend is what one quantity does since its part was last serviced.
type Trend struct {
	Quantity     string    `json:"quantity"`
	Pattern      string    `json:"pattern"`
	State        string    `json:"state"` // in a word: Sound …
	OnsetDive    string    `json:"onset_dive,omitempty"`
	Level        Estimate  `json:"level"`
	PerDive      *Estimate `json:"per_dive"`
	Limit        *float64  `json:"limit"`
	DivesToLimit *Estimate `json:"dives_to_limit"`               // holds 90 % of the time
	Probability  float64   `json:"probability"`                  // that it changed at all
	ComesBy      *Estimate `json:"comes_and_goes_ohm,omitempty"` // from line to line, of a contact that does: in its dives from the least to the most

	Cause    *causes.Cause `json:"-"` // the first row of the table with this quantity
	Levels   []Estimate    `json:"-"` // at each dive, for drawing
	Baseline float64       `json:"-"` // its sound value
	From     int           `json:"-"` // first dive of the trend, 0 unless serviced
	Way      int           `json:"-"` // of its cause's ways, in which what changes it now enters
	Begun    []float64     `json:"-"` // the probability, by dive, that what it does began there; nil when steady
	Ahead    []Ahead       `json:"-"` // of a ramp: now, and after each of the next dives
	Eras     []Era         `json:"-"` // what it did before it was serviced or rebuilt, oldest first
}

// Patterns of a change.
const (
	Steady       = "steady"
	Ramp         = "ramp"
	Step         = "step"
	Intermittent = "intermittent"
	Once         = "once"
	Turns        = "alternating" // in some whole dives and not in others: two batteries, two waters
)

// An Ahead is where a ramp will be after some dives, and how likely it is past
// its limit then, 0 where it has none.
type Ahead struct {
	Level Estimate
	Past  float64
}

// An Era is what a quantity did between two services or rebuilds that touch it.
type Era struct {
	From, To int // its dives from 0, To not among them
	Pattern  string
	Way      int        // as of a Trend
	PerDive  *Estimate  // of a ramp
	Levels   []Estimate // at each of its dives
}

// An Alarm was raised at a dive from what was known at that dive alone.
type Alarm struct {
	Quantity    string  `json:"quantity"`
	RaisedDive  string  `json:"raised_dive"`
	OnsetDive   string  `json:"onset_dive"`
	Pattern     string  `json:"pattern"`
	ClearedDive *string `json:"cleared_dive"`
	Withdrawn   bool    `json:"withdrawn,omitempty"` // cleared by later readings, not by a service
	Gone        bool    `json:"gone,omitempty"`      // withdrawn since its cause is gone, with no service to say why

	OtherBattery bool `json:"other_battery,omitempty"` // cleared by a dive on another battery, which has not what it was raised for

	Cause *causes.Cause `json:"-"` // that raised it
}

// A Finding names the cause that explains what is active at the newest dive.
type Finding struct {
	Fault        string        `json:"fault"`
	Probability  float64       `json:"probability"`
	SinceDive    string        `json:"since_dive"`
	Again        []string      `json:"again_since,omitempty"` // dives at which the same began anew
	OnsetFrom    string        `json:"onset_from"`
	OnsetTo      string        `json:"onset_to"`
	Evidence     []string      `json:"evidence"`
	CheckNext    string        `json:"check_next"`
	Which        []Alternative `json:"which,omitempty"` // of the cases of Fault, where the readings do not tell them apart
	Alternatives []Alternative `json:"alternatives"`
	Test         *Test         `json:"test,omitempty"`

	Cause  *causes.Cause `json:"-"` // worded as of any of Either
	Either []Alternative `json:"-"` // those that are the same of different thrusters, this among them, where it is not plain of which
	Alarm  bool          `json:"-"` // an alarm is open for it
	Onset  int           `json:"-"` // its dive, from 0
	past   string        // that its quantity stands past its limit, of what is told
}

// A Test is what tells a finding from the likeliest of what else it may be: one
// reading, and what it should be on a rested battery at the surface, in fresh water
// at 15 °C with the whole tether out, in the quantity's base unit; or where none
// does, a look at an instrument or at the log.
type Test struct {
	From  string   `json:"from"` // the alternative
	Words string   `json:"words"`
	Read  *Reading `json:"read,omitempty"`
}

// A Reading is one that a Test takes.
type Reading struct {
	Quantity  string  `json:"quantity"` // its column in base units
	Thrusters string  `json:"thrusters"`
	Held      bool    `json:"held"`
	This      float64 `json:"this"` // if the finding is right
	That      float64 `json:"that"` // if the alternative is
}

// An Alternative is what else it might be. Of a finding and its alternatives
// the probabilities add up to one.
type Alternative struct {
	Fault       string  `json:"fault"`
	Probability float64 `json:"probability"`
	Words       string  `json:"-"`
}

// What a finding or an alternative may be beside the causes of the table.
const (
	Unexplained = "no_explanation" // no cause fits
	OnceOnly    = "once"           // one dive alone: a repeat will tell
	Nothing     = "nothing"        // chance
	Other       = "other"          // all that is less likely than one in a hundred
)
