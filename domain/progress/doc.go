// Package progress turns the sessions of one student at one skill into numbers
// a coach can act on: the rate now, its trend, the forecast of the next tier,
// and the stalls, each with its uncertainty and its evidence. Everything here
// is a pure function of the evidence and the day it is judged on.
package progress
