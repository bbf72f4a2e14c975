// Package drift says what changes over many dives, since when, how fast and
// how sure that is. It assumes that a cause of package causes begins at one dive and
// then steps, ramps, comes and goes, or acts in one dive only; that causes are few
// at a time; that sound dives scatter; and that an alarm may use only what was known
// at its dive.
//
// # Evidence
//
// Package fit gives of each dive d a quadratic log-likelihood in its departure δ,
//
//	ℓ_d(δ) = log + lin·δ − ½·δᵀ·info·δ
//
// with scatter integrated out (fit.Result.Integrate). A hypothesis is a set of
// causes, each with an onset and a pattern. It has the departures
//
//	δ_d = g + Σ_c x_c(d)·A_c·a_c
//
// where g are the static parameters with the file's prior and what the baseline's dives say of them, their scatter as it is known
// now (analysis.readBaseline), x_c(d) the
// profile of the pattern (column.profile), A_c the cause's directions among the
// parameters and a_c its amplitudes, normal with the table's standard deviations. All
// is linear in g and a, so the evidence
//
//	log ∫ exp(Σ_d ℓ_d) dg da = −½·log det(...) + ½·linᵀ·(...)⁻¹·lin
//
// is exact (state.solve), the calibration's uncertainty shared by all dives. An
// amplitude that is a fault one way only has half a normal, and friction ends where it stops the motor (bounds). A cause may enter in
// other ways (causes.Cause.Else), each weighed as a hypothesis of its own. Causes without
// amplitudes, a loose contact and a thruster that fails, put another likelihood of package fit in the
// place of the dive's (regime.go); either may rest in some dives. An open circuit is told as its wiring's resistance, a lost
// propeller as its thrust (told).
//
// What the model has wrong stays wrong, and may look like a cause that began with the first
// dive after the baseline. So each cause is weighed in all dives alike too, the baseline's with
// them, where nothing has changed, and an onset counts by its share against that (scanner.always,
// evidenceOf.doubt).
//
// # Search
//
// explain adds the most probable cause given those found, until nothing more is
// likelier than not, then weighs each again with the others given. Every onset is
// weighed, since one more amplitude borders the solved state by one column (scan.go), each in
// the usual size of the cause and in one that is far larger (causes.Sizes). A cause may begin within the baseline
// too, less often, as its owner takes those dives for sound.
// Sums of dives that no onset parts are held as one (block.go): of the last 48 dives each
// stands alone, older ones in blocks of 2ʲ (fold.go); in a log that has such blocks only
// onsets of the last 24 dives are weighed at every dive, all of them at every eighth, at
// the newest, and whenever something new is found or undecided. A cause may be gone again
// without a service that says so (gone.go), or act in some whole dives and not in others,
// since the first of the log too (turns.go); explanations with and without, and what explained the dives before, are compared by evidence and prior. A
// cause that stays may begin once more, as a fault in steps or one that grows faster does; another
// cause must explain more than that the first has bent (bend.go). A contact of the loop that comes and goes from
// line to line, or that or a thruster's by as much as it happens to for whole dives (regime.go), fits much: steps and ramps
// are then looked for without it too.
//
// # Decisions
//
// The probabilities of a component are those of all causes that could stand in its place,
// of one dive alone (the one that most speaks for it) and of chance, the other components given;
// among causes the evidence of n dives is raised to 20/(20+n), since what the model has wrong
// repeats from dive to dive (scanner.coarsen). Against each component that stays, and all of them together, stands that nothing has changed
// and dives differ more than the log has shown yet (analysis.allowOverdispersion). An alarm (alarm.go) wants 90 %
// that something happened, more than half that it stays, and 60 % of that on one family of
// causes, or on the same of any thruster; where for three dives 99 % say that something has changed and stays, the likeliest is
// enough. It ends with a service, when its cause is gone, or when for two dives the readings are explained otherwise (not while what it
// is of is a fifth of what may explain them and no other alarm is open for that), and a step's with the next dive where it was in one
// dive alone. Where several readings of a dive fit no
// cause, or all of a column are set aside the same way dive after dive, that is the finding (unexplained.go), and what began
// with it is neither told nor alarmed.
//
// # Services
//
// A dive on another battery says nothing of the levels of the one in use, which is held to the baseline's dives that had it, or where none
// had to its own first dives; an alarm of the battery before is closed unless the new one has the same, and goes
// on when that is used again.
//
// A service, or a rebuild, within the baseline too, sets the levels that it touches anew: from its dive on each differs from the
// baseline's by one more amplitude (analysis.columns). What it mends is held to have acted
// until then (analysis.endOf), or to go on as it was (analysis.persists). Dives before it keep the baseline's levels, so that what the
// service does not touch stays as sure as it was: without them a loop of 0.3 Ω more, on a log
// without the vehicle's voltage, was lost with the next propeller. Of all thrusters' thrust and friction the level then
// has the mean of what each alone may have. But from some dives before anything
// else may have begun that it mends, each dive has a level of its own there (level.linked, era.go).
//
// Means and intervals of a trend are those of the solved state at each dive, and hold what else
// the dives may be read as where no cause is sure (trend.go), and that what changes seldom does so straight (bend.go);
// dives to the limit come of level and slope together, over the onsets (limit.go).
package drift
