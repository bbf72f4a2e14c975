// Package fit estimates which parameters of package predict a logbook's readings ask
// for: those of the sound vehicle, from its first dives, and for each dive how far it
// departs from them. It assumes independent normal errors of readings except outliers,
// readings that depend smoothly on the parameters, and sound vehicles that scatter
// from dive to dive.
//
// # The model
//
// Reading i of dive d, made under circumstances c (which thrusters ran, minute,
// depth, water, tether paid out), is
//
//	yᵢ = f(cᵢ + uᵢ; g + M·θ_d, b_d) + εᵢ
//
// f is predict.Model.Solve. All that f depends on is one vector, predict.Params:
//
//	g    static: how the vehicle differs from its file; the same in all dives
//	θ_d  departures of dive d: its scatter, and what causes change in it; M puts
//	     each at its place among the parameters
//	b_d  one dive's alone: the battery's rest voltage and sag per minute, the stream
//	     along timed runs, how warm windings became
//	uᵢ   errors of circumstances that the line does not give, or of a whole dive
//	εᵢ   the instrument
//
// # Priors
//
// g (package priors): each key of vehicle.toml is normal (its value or its logarithm) with
// the tolerance that the file states, or else that of the table of keys. The slopes of the
// formulas that join keys and parameters carry these priors to the parameters, so that a key
// that is left out and follows from another moves along with it. What no key stands for is in
// the table's column Beside. θ_d: normal about zero with the scatter of that table. uᵢ: package
// circumstances, learnt from the log's own lines where it has them. In a log that never gives a
// depth, all runs are made at similar depths: their assumed depth is one static parameter,
// which scatters from dive to dive. So is, where nobody timed it, the share of a steady climb's speed
// at which the vehicle moves while its heave thrusters alone run. Of a thruster that no baseline dive was read with the file alone
// tells: its priors are far wider (priors.Log).
//
// # Outliers and noise
//
// A cell is a slip (slips.go) when it lies beyond 5 standard deviations as written and
// within 3 with its decimal point one place away, or is a battery voltage far above the
// dive's others, or stands in the other voltmeter's column. Other residuals beyond 2.5
// get Huber's weight (Huber, Robust Estimation of a Location Parameter, 1964), those
// beyond 6 none (robust.go). A dive may be read with less care than others: all its readings
// are noisier by one factor, where the gain in likelihood exceeds the loss of precision
// (byitself.go). Three and more readings of one quantity that are off the same way are not
// outliers but a Misfit (misfit.go). An instrument's standard deviation is the stated one times
// a factor with a scaled inverse χ² prior, learnt from the baseline's residuals (package
// instrument; Gelman et al., Bayesian Data Analysis, 2013, 2.6). Later dives refine it each time
// the log has become half as long again: from the scatter within a dive of readings that should
// be alike, and from how much successive dives differ beyond their own scatter (noise.go). A dive
// is fitted with what was known before it. Rounding comes on top, by the steps in which a dive's
// numbers of a column were written down (package instrument); readings of one kind that hardly
// vary compared with their step share its rounding error (observation.go).
//
// # Calibration
//
// The first dives (baseline.dives) are fitted together with the Levenberg-Marquardt
// method (package lsq) for g and each dive's θ_d and b_d (calibrate.go). A fit that does not
// converge, or leaves far more than noise, is restarted with noisier instruments, so that one
// slip does not draw it away. Where most cells of a column are set aside, in one dive or in all, the
// fit is tried with the other cells as the slips.
//
// A vehicle may never have been as its file says: a bad joint, a jam or a wrong key lies farther
// off than tolerances allow, and would pass for noise. A score test (Rao 1948, from memory)
// selects the causes and keys that are worth a fit. Each is fitted with the prior widened along
// its own direction, and weighed by Laplace's approximation of the evidence. Where together they
// are likelier than none, the calibration rests on the likeliest (fromstart.go). Where that is of one
// of several thrusters that would explain it about as well, the prior is widened along all of them.
//
// A battery may stand higher at rest than it does as soon as anything runs, by its surface charge. At
// one load that looks like resistance, and no longer once a thruster fails: the calibration allows
// for it unless the baseline speaks against it. The battery's resistance is then shown with that loss
// at the baseline's mean load, LoadA, since the readings tell the sum and not its parts (battery.go).
//
// A dive whose lines contradict one another, as with an intermittent contact, or that would look
// like a failed thruster in a later dive, is reported and left out (baseline.go). For each
// parameter that scatters, the variance of the dive farthest out is inflated, one dive at a time, so
// that the other dives show which one is odd. First or last dives that lie together, apart from the rest,
// are a step, which package drift weighs (widen.go).
//
// About that fit the quadratic posterior of g and of all θ_d of the baseline is then solved
// exactly (posterior.go). Base is the baseline's mean g + M·mean(θ); estimates of dives are
// relative to it. SoundOffset leads to g itself, about which later sound dives scatter. The
// covariance of both is kept: all that rests on the calibration shares its uncertainty.
//
// Dives of one day share the clamp meter's zero: each scatters by as many times its variance as the day
// has dives, so that they tell no more of a level than one dive would (Result.VarianceIn).
//
// # A dive
//
// Each later dive is fitted by itself against Base, with everything left free that may scatter or
// that a cause may change (dive.go). It is kept as a quadratic log-likelihood in its departures
// (Summary), with slopes averaged between its fit and the sound vehicle. b_d and the unknown
// circumstances are integrated out as normals, line by line (summary.go). Where the readings ask
// for it, the battery's rest voltage also varies from line to line, and so do the stream along
// runs that were timed one way and a load that no line mentions (intermittent.go).
//
// Where the readings suggest it, two kinds of likelihood are kept beside that one:
//   - with a loop resistance that varies from line to line, an intermittent contact
//     (intermittent.go); its mean in the dive is free within that scatter. A contact only adds: none is
//     kept whose better lines have less resistance than a sound loop;
//   - with a failed thruster, for each thruster: jammed, circuit open or propeller lost
//     (failed.go). It is kept where it is no less likely than a sound vehicle, with the battery, stream
//     and hover weight fitted again beside the failure, unless the thruster pushes more than the
//     failure allows, the vehicle climbs as a sound one does, or the readings lie too little of the
//     way to those of a jam. What a thruster draws goes by the calibration.
//
// Both mark decimal slips anew: a cell far from a sound vehicle may be as they predict. A slip
// costs as much as any cell set aside when a fit is compared with one that has fewer slips;
// compared with a failure it costs the loss of its residual. Speeds, climbs, pulls and currents
// that changed count less, since the model may have a quarter of their change wrong. So do
// voltages at the vehicle, by an eighth of the loop drop of the current's change (inexact.go).
//
// What no dive of the baseline tells is uncalibrated, such as a column that is read only later, or
// what a jammed thruster draws through a loop that nothing calibrated. Where a dive leaves such a
// cell unexplained, it is fitted about the static parameters that the cell implies: the quadratic
// about the calibration does not hold that far off (statics.go).
//
// A log that weighs the vehicle before the first run of a dive and again after it tells buoyancy that is
// lost in the course of the dive, in proportion to the time, from what it began with.
//
// A cell that counts and that the mixture leaves unexplained may be a slip, or one of two exchanged
// lines, that least squares explain by many changes at once. The dive is fitted again with the
// cells farthest from a sound vehicle set aside, and the likelier fit is kept (byitself.go).
//
// What one dive by itself says of a parameter is a mixture over no cause, each single cause and
// the likeliest pairs of the table of causes (package mixture), each with its prior probability of
// acting in a dive: an interval covers what a sound dive and a faulty one with these readings would
// have. Where a failure is likelier than all of these, both taken without the allowance for an
// inexact model, the mixture is the failure's. Over several dives, speeds, climbs and pulls count
// less with a failure too; its currents are Ohm's law and do not. The mixture gives an
// estimate's mean and its 2.5 and 97.5 % points. After a service, a rebuild or with another battery,
// what is shown of a dive comes from its mixture about the levels that package drift has found
// since, and causes that it has found to act there, or not to, have those odds (Result.Departures).
//
// # Scatter
//
// How much sound dives differ is learnt for each scattering parameter from the differences of
// successive dives (scatter.go). With f times the expected scatter s their variance is 2·f²·s² plus
// both dives' own, given the static parameters, which dives share; 5 % of differences may come
// from anything. The prior of ln f is Student's t
// with 4 degrees of freedom, so that a log of few dives scatters as expected, and one whose owner
// never weighs ballast twice the same way shows it. A change that lasts is one difference among many.
//
// The scatter of circumstances (a stream) that the dives before show, learnt each time the log has
// become half as long again, limits a dive's own fit. Otherwise, in a stream that comes from ahead
// and from behind, its speeds would pass for drag or propeller, and be expanded there. A clamp's
// zero, speeds and pulls scatter from dive to dive as parameters do: an error that all readings of
// a column share in one dive is no change. A battery's rest voltage has heavier tails, but not above
// what any battery of its label is charged to (battery.go).
//
// # Constants
//
// Every constant stands beside its use with its source. Those of packages
// priors, circumstances and causes are what boat owners and
// clubs know of such vehicles: common practice, no source. Those of decisions
// (misfit.go, packages audit and drift) were set by simulation: TestSoundLogsRaiseNothing
// and TestOperatingCharacteristics of package drift hold them to it.
package fit
