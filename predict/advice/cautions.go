package advice

import "slices"

// Basics are what a person must have read before anything is switched on, a
// sentence each.
var Basics = []string{
	"Low voltage only.", "Fuse at the battery.", "Keep mains chargers behind an RCD/GFCI and away from water.", "Never short a battery.",
	"Mind lifting gear and pressure housings.", "Never dive on this tool's word alone; local codes and licensed practice come first.",
}

// Handling is what to mind with a vehicle, its tether and its tubes in one's
// hands; common practice, no source.
var Handling = []string{
	"Unplug the battery before you turn a propeller by hand, and before you check the loop with its far end linked; take the link off before you plug it in again.",
	"Keep hands clear of the blades when you move a connector under power.",
	"Run thrusters in air for seconds only: water cools their windings and greases their seals.",
	"Switch a thruster off at once that draws current and does not turn.",
	"Pay all of a heavily loaded tether out: wound on its reel it gets hot.",
	"A tube that flooded at depth may be under pressure: open it slowly, pointed away from people.",
	"A flooded vehicle weighs more than it floated: lift it by a rope made for that weight, not by the tether.",
	"On ice never alone, and only where its thickness is known to bear you and your gear.",
}

// Batteries is what to mind with batteries; common practice, no source.
var Batteries = []string{
	"Batteries give off gas: a hull or housing that holds one must vent, and a lead-acid battery never goes into a closed one.",
	"Lithium cells burn when water gets to them, when they are punctured or crushed, and may when they are charged below 0 °C: keep them dry, and charge them ashore with someone by.",
	"A jump starter's mAh are at its cells' voltage: at 12 V it has about a third of them.",
}

// AllCautions are all of these in one list.
func AllCautions() []string {
	return slices.Concat(Basics, Handling, Batteries)
}
