// Package estimate turns the sessions of one student at one skill into numbers:
// the rate now, its trend, the forecast of the next tier, and flags for a student
// who falls back or gains no more, each with its uncertainty and what it rests on.
// [Assess] and [Walk] are pure functions of the evidence. Package advice says what
// the numbers mean for a coach.
//
// # All students together
//
// [DifficultyOf] puts drills and students on one scale, and [FadeOf] tells how
// much a skill fades with days away. On simulated academies of 12 to 60 students
// the intervals of 80 % held the truth in 77 to 83 % for difficulties, 80 to 81 %
// for middling rates, 78 to 81 % for levels and 78 to 83 % for fades; where
// nothing faded, 82 % of them held 0.
//
// # Rate
//
// [RateOf] is a Beta posterior whose old sessions count less, by as much as
// predicts the next session best; one session alone gives the textbook
// posterior under Jeffreys' prior, or under one that [LearnPrior] fits to the
// academy's other students. Its comment says why a test that stops at success
// needs no correction.
//
// # Trend
//
// [TrendOf] is the binomial regression on the logit scale since the last
// milestone, with the dispersion between sessions estimated.
//
// # Forecast and flags
//
// Both come from one model of a learner: the level rises, stays or falls at
// some pace, changes over now and then from one to another, and every session
// has a day's form of its own. A filter carries the probabilities of level, pace
// and way of going from session to session, exactly but for a grid. The model's
// constants are what we hold for plausible, not fitted. Halved or doubled one
// at a time, with the limits of the flags set anew, they change the table below
// by less than the difference between two draws of learners.
//
// The forecast lets the filter run on, with the exact odds of the tier at every
// level, so that level, pace, change-over and form are all integrated. Rises
// level off as they do in the model, and stop after twelve sessions at the
// latest. Half a per cent is kept back from every promise.
//
// A student is slipping when falling is likelier than not by some margin, and
// flat when rising has become improbable; both flags come down only at other
// limits than they go up at. Package advice keeps silent about a student to whom
// the next tier is near ([Forecast.Near]). Where the data can tell neither a rise
// nor a stall, the answer is undecided, and says how many more sessions it takes.
//
// # What the flags are worth
//
// Measured within 30 sessions of 20 to 40 balls, on 200 simulated learners of
// each kind that were drawn outside this project (reference), on 2,000 of each
// kind drawn afresh alike, and on 2,000 drawn from a population with other
// paces, times of change and form (unlike). A flag is false when it ever stood
// for a learner who improves throughout. "go run ./integration/learners -fresh 2000"
// prints the table.
//
//	                        improving  flat from    regress:          improve, then
//	                        ever       the start    slipping          level off
//	                        flagged    at session   + delay   before  + delay
//	reference                 4.5 %    100 % @ 15   97 % + 7   1.5 %  51 % + 12
//	  no new best run in 4    100 %    100 % @  7    3 % + 1    97 %   4 % +  3
//	  likelihood ratio          5 %    100 % @  9   95 % + 4     5 %  93 % +  9
//	alike, afresh             6.3 %     98 % @ 15   95 % + 7   2.9 %  57 % + 12
//	  likelihood ratio          5 %    100 % @ 10   95 % + 4     5 %  88 % + 10
//	unlike, afresh            5.8 %     98 % @ 15   93 % + 7   4.8 %  57 % + 12
//	  likelihood ratio          5 %    100 % @  9   94 % + 5     5 %  86 % +  9
//
// Sessions and delays are medians. Regressing and levelling learners count when
// the first flag comes at or after the change; those flagged before are in the
// column "before", or, for levelling off, 2 %. The likelihood ratio knows every
// parameter of each learner (start, pace, form, and when changes can come), has
// to tell only two ways of going apart, and spends 5 % of false alarms on each
// of the three questions, where the rule must ask them all at once with one
// allowance and know nothing. The distance to it, in sessions, is 6 for flat, 3
// for slipping and 3 for levelling off.
//
// With a tier of 9 in a row in 20 balls the figures are the same but for the
// levelled-off learners, 50.5 % of whom are flagged: the others are close to the
// tier, and left alone. With easier tiers more are: 6 in 20 leaves 30 % flagged.
// The limits of the flags were set on simulated learners, the reference ones
// among them; the learners drawn afresh show what that is worth.
//
// The table is of what a coach is told, by the rules of package advice. Of the
// learners who stop practising all are lapsed, 99.3 % of the unlike ones, three
// planned sessions after they stop in the median, and nobody else ever.
//
// # Calibration
//
// True rates inside the intervals, after every session, in per cent of all
// sessions:
//
//	                80 %   95 %
//	reference       80.7   94.9
//	  improving     82.8   96.2
//	  flat          86.1   96.8
//	  regressing    75.7   92.0
//	  plateau       78.0   94.1
//	  not practising 81.2  95.7
//	unlike, afresh  78.6   93.5
//
// Forecasts of "within 8 sessions" for runs of 4, 6, 8 and 10 in tests of 20
// balls, made after every fourth session, by tenths of the predicted
// probability, in per cent:
//
//	reference  predicted   3.6 14.8 24.8 34.9 45.1 55.0 65.1 75.0 85.2 97.3
//	           happened    2.9 13.8 22.6 34.2 44.0 54.7 65.4 76.1 86.0 98.3
//	unlike     predicted   2.8 14.7 24.9 34.9 45.0 55.0 65.1 75.1 85.3 97.6
//	           happened    2.8 15.4 25.9 36.3 46.5 56.3 66.4 76.7 86.5 98.4
//
// The Brier score is 0.105 for the reference learners and 0.092 for the others;
// putting the pooled rate into the odds gives 0.132 and 0.123, and the overall
// share 0.247 and 0.246.
package estimate
