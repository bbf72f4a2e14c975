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

// A Report is what a log shows: dive by dive, as trends, alarms and findings. Its JSON form is
// stable; Schema counts up when it changes.
type Report struct {
	Schema   int       `json:"schema"`
	Vehicle  string    `json:"vehicle"`
	Dives    []Dive    `json:"dives"`
	Trends   []Trend   `json:"trends"`
	Alarms   []Alarm   `json:"alarms"`
	Findings []Finding `json:"findings"`
	Rebuilt  []string  `json:"rebuilt,omitempty"` // what, and from which dive on
	Remarks  []string  `json:"remarks"`           // where the file is wrong, and what the readings cannot tell
	Judged   bool      `json:"judged"`            // whether there are dives after the baseline
	Baseline int       `json:"baseline_dives"`    // how many dives the baseline needs

	Unsettled bool   `json:"-"` // whether the calibration did not converge, as a remark says
	Differs   string `json:"-"` // a clause on how the baseline differs from the file, "" if it does not; remarks say by how much

	OtherBatteries []OtherBattery `json:"-"`

	Units     units.System  `json:"-"` // in which it is shown to a person
	Statics   fit.Statics   `json:"-"` // the sound vehicle by all dives
	Levels    []fit.Since   `json:"-"` // those that services, rebuilds and other batteries have left, oldest first
	Posterior fit.Posterior `json:"-"` // at the newest dive: what the hover weight depends on, and what services, rebuilds or another battery set anew
}

// A Dive holds one dive's own estimates, by quantity.
type Dive struct {
	Dive      string              `json:"dive"`
	Date      string              `json:"date"` // ISO 8601 day, "" if unknown
	SetAside  []fit.Outlier       `json:"set_aside"`
	Estimates map[string]Estimate `json:"estimates"`
	Serviced  []string            `json:"serviced,omitempty"`
	Rebuilt   []string            `json:"rebuilt,omitempty"` // keys of vehicle.toml that changed just before it
	fit.Looks

	// Sound holds by quantity what sound vehicles scatter within, by the levels that services, rebuilds
	// and other batteries have left.
	Sound map[string]Estimate `json:"-"`
}

// SoundOf returns what a sound vehicle's value of a trend's quantity scatters within in the dive.
func (d *Dive) SoundOf(t *Trend) Estimate {
	if x, ok := d.Sound[t.Quantity]; ok {
		return x
	}
	return Estimate{Value: t.Baseline, Low: t.Baseline, High: t.Baseline}
}

// LooksFailed words that a dive's readings look as if a thruster failed, as its estimates then
// assume; "" if they do not.
func (d *Dive) LooksFailed() string {
	as := d.AsIf()
	if as == "" {
		return ""
	}
	return "its readings look " + as
}

// Of words a day to follow the label of a dive; "" if the day is unknown.
func Of(day string) string {
	if day == "" {
		return ""
	}
	return " of " + day
}

// A Trend is what one quantity has done since its part was last serviced.
type Trend struct {
	Quantity     string    `json:"quantity"`
	Pattern      string    `json:"pattern"`
	State        string    `json:"state"` // Sound and the other states
	OnsetDive    string    `json:"onset_dive,omitempty"`
	Level        Estimate  `json:"level"`
	PerDive      *Estimate `json:"per_dive"`
	Limit        *float64  `json:"limit"`
	DivesToLimit *Estimate `json:"dives_to_limit"`               // a 90 % interval
	Probability  float64   `json:"probability"`                  // that it changed at all
	ComesBy      *Estimate `json:"comes_and_goes_ohm,omitempty"` // of a contact that comes and goes: from the least to the most of its dives

	LastRead *float64      `json:"-"` // of insulation past its limit: its newest reading, which may be all that says so
	Cause    *causes.Cause `json:"-"` // the first row of the table with this quantity
	Levels   []Estimate    `json:"-"` // at each dive, for drawing
	Baseline float64       `json:"-"` // its sound value
	From     int           `json:"-"` // first dive of the trend, 0 unless serviced
	Way      int           `json:"-"` // index of its cause's way in which the change enters
	Lost     []causes.Term `json:"-"` // of a propeller that may be lost, what a unit of the amplitude adds; else nil
	Begun    []float64     `json:"-"` // probability, by dive, that the change began there; nil when steady
	Ahead    []Ahead       `json:"-"` // of a ramp: now, and after each of the next dives
	Eras     []Era         `json:"-"` // what it did before services or rebuilds, oldest first
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

// An Ahead is a ramp's level after some dives, and the probability that it is then past its limit,
// 0 if it has none.
type Ahead struct {
	Level Estimate
	Past  float64
}

// An Era is what a quantity did between two services or rebuilds that touch it.
type Era struct {
	From, To int // indices of its dives, To excluded
	Pattern  string
	Way      int        // as in Trend
	PerDive  *Estimate  // of a ramp
	Levels   []Estimate // at each of its dives
	Another  bool       // what follows is another battery
}

// An Alarm was raised at a dive from what was known at that dive alone.
type Alarm struct {
	Quantity    string  `json:"quantity"`
	RaisedDive  string  `json:"raised_dive"`
	OnsetDive   string  `json:"onset_dive"`
	Pattern     string  `json:"pattern"`
	ClearedDive *string `json:"cleared_dive"`
	Withdrawn   bool    `json:"withdrawn,omitempty"` // cleared by later readings, not by a service
	Gone        bool    `json:"gone,omitempty"`      // withdrawn because its cause is gone, with no service to say why

	OtherBattery bool `json:"other_battery,omitempty"` // cleared by a dive on another battery, which does not have the fault

	Cause *causes.Cause `json:"-"` // that raised it
}

// A Finding names the cause that explains what is active at the newest dive.
type Finding struct {
	Fault        string        `json:"fault"`
	Probability  float64       `json:"probability"`
	SinceDive    string        `json:"since_dive"`
	Again        []string      `json:"again_since,omitempty"` // dives at which the same began again
	OnsetFrom    string        `json:"onset_from"`
	OnsetTo      string        `json:"onset_to"`
	Evidence     []string      `json:"evidence"`
	CheckNext    string        `json:"check_next"`
	Which        []Alternative `json:"which,omitempty"` // cases of Fault that the readings do not tell apart
	Alternatives []Alternative `json:"alternatives"`
	Test         *Test         `json:"test,omitempty"`

	Cause  *causes.Cause `json:"-"` // worded as any of Either
	Either []Alternative `json:"-"` // all candidates, this one included, if it is not plain which thruster it is or why it does nothing
	Alarm  bool          `json:"-"` // whether an alarm is open for it
	Onset  int           `json:"-"` // index of its onset dive
	Hovers bool          `json:"-"` // what no explanation fits are hover weights alone
	past   string        // of one that is told: words that its quantity is past its limit
}

// A Test tells a finding from its likeliest alternative: by one reading and its value on a rested
// battery at the surface, in fresh water at 15 °C with the whole tether out, in the quantity's base
// unit; or, if no reading does, by a look at an instrument or at the log.
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

// An Alternative is what else it might be. The probabilities of a finding and its alternatives add
// up to one.
type Alternative struct {
	Fault       string  `json:"fault"`
	Probability float64 `json:"probability"`
	Words       string  `json:"-"`
}

// What a finding or an alternative may be besides the causes of the table.
const (
	Unexplained = "no_explanation" // no cause fits
	OnceOnly    = "once"           // one dive alone: a repeat will tell
	Nothing     = "nothing"        // chance
	Other       = "other"          // all that is less likely than one in a hundred
)
