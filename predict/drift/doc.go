// Package drift reports what changes over many dives, since when, how fast, and with what
// probability. It assumes that a cause of package causes begins at one dive and then steps, ramps,
// comes and goes, or acts in one dive only; that few causes act at a time; that sound dives
// scatter; and that an alarm may use only what was known at its dive.
//
// # Evidence
//
// For each dive d, package fit gives a quadratic log-likelihood in its departure δ,
//
//	ℓ_d(δ) = log + lin·δ − ½·δᵀ·info·δ
//
// with scatter integrated out (fit.Result.Integrate). A hypothesis is a set of causes, each with an
// onset and a pattern. It predicts the departures
//
//	δ_d = g + Σ_c x_c(d)·A_c·a_c
//
// where g are the static parameters, with the file's prior and the likelihood of the baseline's
// dives under the scatter known now (analysis.readBaseline); x_c(d) is the profile of the pattern
// (column.profile); A_c are the cause's directions among the parameters; and a_c are its
// amplitudes, normal with the table's standard deviations. All is linear in g and a, so the
// evidence
//
//	log ∫ exp(Σ_d ℓ_d) dg da = −½·log det(...) + ½·linᵀ·(...)⁻¹·lin
//
// is exact (state.solve), and all dives share the calibration's uncertainty. An amplitude that is a
// fault in one direction only has a half-normal prior, and friction is capped where it would stop
// the motor, as is what magnets lose at once (bounds). A cause may enter in other ways
// (causes.Cause.Else), each weighed as a hypothesis of its own. Causes without amplitudes, a loose contact and a failed thruster, replace
// a dive's likelihood by another one from package fit (regime.go); either may pause in some dives, and a
// jam is the less likely the more dives it acts in (analysis.lasting), and an open circuit that lets
// through what a motor without load draws is rare (analysis.partly).
// An open circuit is reported as excess resistance of its wiring, a lost propeller as lost thrust
// (analysis.reportedAs). Where it may be any of several thrusters each has a trend of its own, the mean
// over who it may be, so that together they have lost what was lost.
//
// A model error persists and may look like a cause that began with the first dive after the
// baseline. So each cause is also weighed as acting alike in all dives, the baseline included: then
// nothing has changed. Each onset is weighed by its share against that (scanner.always,
// evidenceOf.doubt).
//
// # Search
//
// explain adds the most probable cause given those found, until no further one is more likely than
// not, then weighs each again given the others. Every onset is weighed, since one more amplitude
// borders the solved state by one column (scan.go), each in the usual size of the cause and in one
// that is far larger (causes.Sizes). A cause may also begin within the baseline, with a smaller
// prior, because the owner takes those dives to be sound. Runs of old dives between which no onset
// is weighed are summed into one block (block.go): the last 48 dives stand alone, older ones in
// blocks of 2ʲ (fixExplained). In a log with such blocks only onsets of the last 24 dives are weighed at
// every dive, and all of them at every eighth dive, at the newest, and whenever something new is
// found or undecided. A cause may end without a service that says so, several also together (gone.go), or act in some
// whole dives and not in others, from the first dive of the log if need be (turns.go). Explanations
// with and without such ends, and the previous dive's explanation, are compared by evidence and
// prior. A cause that stays may begin a second time, as a fault that grows in steps or ever faster
// does; another cause must explain more than a bend of the first would (bend.go). A loop contact
// that comes and goes from line to line, or a loop or thruster contact that is worse by any amount
// for whole dives (regime.go), can fit many patterns: steps and ramps are then also searched for
// without it.
//
// # Decisions
//
// The probabilities of a component are those of all causes that could stand in its place, of a
// change in one dive alone (the dive that supports one most) and of chance, given the other
// components. Among causes the evidence of n dives is raised to the power 20/(20+n), since model
// errors repeat from dive to dive; among jams, and among open circuits and lost propellers, to 1/(1+n)
// (scanner.coarsen). What is reported is no surer than 97 %, since what
// has changed may be in no row of the table (surest); decisions go by the table alone. Each component
// that stays, and all of them together, compete with the hypothesis that nothing has changed and dives scatter more than the
// log has shown so far (analysis.allowOverdispersion). An alarm (alarm.go) needs 90 % that
// something happened, more than half that it stays, and 60 % of that on one family of causes, or on
// the same fault of any thruster. Where for three dives it is 99 % sure that something has changed
// and stays, the likeliest cause is enough. An alarm ends with a service, when its cause is gone,
// or when for two dives the readings are explained otherwise (but not while its family holds a
// fifth of what may explain them and no other alarm is open for that); a step's alarm ends with the
// next dive if the step was in one dive alone. Where several readings of two dives fit no cause, or
// all readings of a column are set aside the same way dive after dive, that is the finding
// (unexplained.go), and a component that began with it is neither reported nor alarmed. One such
// dive asks for a repeat.
//
// # Services
//
// A dive on another battery carries no information on the levels of the battery in use. Those are
// compared with the baseline's dives on that battery or, if it has none, with its own first dives.
// An alarm of the previous battery is closed unless the new one has the same fault, and reopens
// when the old battery is used again.
//
// A service, or a rebuild, even within the baseline, sets the levels that it touches anew: from its
// dive on each differs from the baseline's by one more amplitude (analysis.columns). What it mends
// is taken to have acted until then (analysis.endOf), or to go on as before (analysis.persists).
// Dives before the service keep the baseline's levels, so that what the service does not touch
// stays as sure as it was: without them a loop of 0.3 Ω more, on a log without the vehicle's
// voltage, was lost with the next propeller. The level of the thrust or friction of all thrusters
// then includes the mean of the single thrusters' own new levels. But from a few dives before the
// earliest onset of anything else that the service may mend, each dive has a level of its own there
// (level.linked, era.go).
//
// Joints that are re-made, a hull that is cleaned, a tube that is dried, an instrument that is put
// right and motors that were worked on are usually as they were when sound, or nearly (restorers). So
// for some dives after such a service the dives are explained twice, with the levels restored within a
// share of the usual size of a fault and with any level, until one is clearly likelier (withLevels);
// what the likelier explanation alone has competes with the other, and levels that are reported have
// the spread of both (level.spread). Both also try what the service would have ended where the readings did
// not tell it from something else (noteEnded): thrust that is back when the hull is clean was drag.
// Without this 10 of 24 simulated loops that gained 0.04 to 0.1 Ω and were re-made, in logs without
// the vehicle's voltage, and 6 of 20 hulls that were cleaned, were still reported after the service
// (TestMendedOrNot).
//
// Means and intervals of a trend are those of the solved state at each dive. They cover the other
// readings of the dives where no cause is sure, what may have begun without being seen (trend.go), and
// that changes are seldom straight (bend.go). What one dive is shown to say by itself comes from its
// mixture (package fit) about the levels since, with the probabilities that causes act in it by all dives
// (analysis.estimates). Where a level was set anew, all that dives share is told together with it
// (setAnewWithOthers), and held where the baseline has it: a log without a pull tells thrust over drag
// alone. Insulation that was last read below its limit is past it, whatever the dives before say. Dives
// to the limit follow from level and slope together, over the onsets (limit.go).
package drift
