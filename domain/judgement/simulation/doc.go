// Package simulation tries the judgement on invented programs whose true rates are known, and holds it to aims: how
// often the first work-on is the right one, whether intervals hold what they say, how many flags are wrong, and how
// often a block that changed nothing looks to have helped. Rules of thumb run beside it, to show which aims they miss.
//
// Every measure comes with its standard error, and an aim is missed when the measure less three of them is beyond it.
// A full run must also be large enough: a standard error above the cap fails too.
package simulation
