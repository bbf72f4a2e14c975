// Package fit says which parameters of package predict a logbook's readings ask
// for: those of the vehicle when sound, from its first dives, and of each dive how
// far they depart from that. It assumes independent normal errors of readings but
// for outliers, parameters that readings depend on smoothly, and dives between
// which sound vehicles scatter.
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
//	b_d  one dive's alone: the battery's rest voltage and sag a minute, the stream
//	     along timed runs, how warm windings became
//	uᵢ   errors of circumstances that the line does not give, or of a whole dive
//	εᵢ   the instrument
//
// # Priors
//
// Of g (package priors): vehicle.toml's keys, each normal (of its value or logarithm) with
// the tolerance that the file states or the table of keys has, are carried to
// parameters by the slopes of the formulas that join them, so that a key that is
// left out and follows from another moves along with it. What no key stands for is
// the column Beside of the table there. Of θ_d: normal about zero with
// the scatter of that table. Of uᵢ: package circumstances, learnt from
// the log's own lines where it has them. Runs of a log that never gave a depth are made at like depths:
// what is assumed of all of them is one static parameter, which scatters from dive to dive.
//
// # Outliers and noise
//
// A cell is a slip (slips.go) when it lies beyond 5 standard deviations as written and
// within 3 with its decimal point one place away, or is a battery's voltage far above the
// dive's others, or stands in the other voltmeter's column. Otherwise residuals beyond
// 2.5 count by Huber's weight (Huber, Robust Estimation of a Location Parameter,
// 1964), beyond 6 not at all (robust.go). A dive may be read with less care than others, all its
// readings so many times noisier, where that is likelier for what it takes off their precision (byitself.go). Three and more of one quantity the same
// way are no outliers but a Misfit (misfit.go). An instrument's standard deviation
// is that stated times a factor with a scaled inverse χ² prior, learnt from the
// baseline's residuals (package instrument; Gelman et al., Bayesian Data Analysis, 2013, 2.6). Later dives
// tell more of it, each time that the log has become half as long again: by how readings of one dive that should be alike
// scatter, and by how much those of successive dives differ beyond what dives do (noise.go). A dive is fitted with what was known before it.
// What was rounded off comes on top, by the steps in which a dive's numbers of a column
// were written down (package instrument); readings of one kind that hardly vary against
// their step have it in common (observation.go).
//
// # Calibration
//
// The first dives (baseline.dives) are fitted together by Levenberg and Marquardt's
// method (package lsq) for g, each dive's θ_d and b_d (calibrate.go). A fit that does not
// converge, or leaves far more than noise, is begun again with noisier instruments, so
// that one slip does not draw it away; where most cells of a column are set aside, in a dive or in all, the others are tried as the
// slips. A vehicle may never have been as its file says: a
// bad joint, a jam or a wrong key lies farther off than tolerances allow, and would pass for noise. Causes and keys that a score
// test (Rao 1948, from memory) finds worth it are each fitted too, with the prior widened along its own direction, and weighed by
// Laplace's approximation of the evidence; where they are likelier together than none, the calibration
// rests on the likeliest (fromstart.go). A dive whose lines contradict one another, as under a
// contact that comes and goes, or that looks as if a thruster failed were it a later one, is told and left out (baseline.go). Of a parameter that
// scatters the dive that lies farthest out is widened, one at a time, so that the others say which is odd; first or last dives
// that lie together, apart from the rest, are a step, which package drift weighs (widen.go). Then, about
// that fit, the quadratic posterior of g and all θ_d of the baseline is solved
// exactly (posterior.go). Base is the baseline's mean g + M·mean(θ), which estimates
// of dives are relative to; SoundOffset leads to g itself, which later sound dives scatter
// about. The covariance of both is kept: whatever rests on the calibration shares
// it.
//
// # A dive
//
// Each later dive is fitted by itself against Base, everything that may scatter or
// that a cause may change left free (dive.go), and kept as a quadratic
// log-likelihood in its departures (Summary), with slopes between its fit and the sound
// vehicle: b_d and the unknown circumstances are integrated out as normals, line by line
// (summary.go). Where the readings ask for it the battery's
// rest voltage differs from line to line besides, and so does the stream along runs that were timed one way
// (intermittent.go). Beside the likelihood are kept, where
// the readings suggest them, the same with a loop resistance that varies from line
// to line (a contact that comes and goes, intermittent.go), whose mean in the dive is
// free within that scatter, and with each thruster that fails, jammed, its circuit open or its propeller lost, where that is no less
// likely, at the battery, the stream and the hover weight that the dive then has, unless it pushes more than that lets it or climbs as a
// sound vehicle does (failed.go).
// Both set decimal slips aside anew: what lies far from a sound vehicle may be as they have it. A slip costs as much as any cell that
// is set aside where one that has fewer is weighed against it, and what it lies off by where a failure is. Speeds, climbs,
// pulls and currents that changed count less, and voltages at the vehicle by what of the current's change drops in the
// loop, as the model may have a quarter of their change wrong, of the latter an
// eighth (inexact.go).
//
// What no dive of the baseline tells is uncalibrated, such as a column that is read later or what a jammed thruster draws through a
// loop that nothing told. Where a dive leaves such a cell unexplained it is fitted about the static parameters that the cell
// tells: about the calibration the quadratic does not reach so far (statics.go).
//
// A cell that counts and that the mixture leaves unexplained is a slip that least squares have fitted by
// many changes at once, or one of two lines in each other's place: the dive is fitted again with the cells
// farthest from a sound vehicle set aside, and what is likelier is kept (byitself.go).
//
// What one dive alone says of a parameter is the mixture over no cause, any one and
// the likeliest pairs of the table of causes (package mixture), each with the prior
// probability that it acts in a dive: an interval covers what a sound dive and a
// faulty one of these readings would have. Where a failure is likelier than all of that, without the
// allowance that the model is inexact, which a failure is not given either, the mixture is the failure's. Over several dives speeds,
// climbs and pulls count less with a failure too; what it draws is Ohm's law. Of it are an estimate's mean and the
// 2.5 and 97.5 % points.
//
// # Scatter
//
// How much sound dives differ is learnt for each scattering parameter from the
// differences of successive dives (scatter.go): of scatter f times the expected,
// 2·f²·s² plus both dives' variances, with 5 % of differences from anything. ln f has
// Student's t with 4 degrees of freedom as its prior, so that a log of few dives
// scatters as expected, and one whose owner never weighs ballast twice the same way
// shows it. What the dives before show of circumstances, each time that the log has become half as long again, is what
// a dive's own fit is held to: in a stream that comes from ahead and from behind its speeds would else be as much drag
// or propeller as it takes, and expanded there. A change that lasts is one difference among many. A clamp's zero, speeds and pulls
// scatter from dive to dive as parameters do: what all readings of a column have in common in one
// dive is no change. A battery's rest voltage has heavier tails (battery.go).
//
// # Constants
//
// Every constant stands beside its use with its source. Those of packages
// priors, circumstances and causes are what boat owners and
// clubs know of such vehicles: common practice, no source. Those of decisions
// (misfit.go, packages audit and drift) were set by simulation: TestSoundLogsRaiseNothing
// and TestOperatingCharacteristics of package drift hold them to it.
package fit
