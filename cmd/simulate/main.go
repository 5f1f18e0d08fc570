// Command simulate tries the judgement on invented programs and prints one table of how it does against its aims, with
// rules of thumb beside it, and one of what is reported without an aim. It exits with 1 when an aim is missed or the run is
// too small to tell.
package main

import (
	"flag"
	"fmt"
	"os"
	"strings"

	"cagework/domain/judgement/simulation"
)

func main() {
	size := simulation.Full
	smoke := flag.Bool("smoke", false, "a few settings, in seconds; its errors are large")
	all := flag.Bool("lines", false, "print every measure of every setting first")
	goalies := flag.Int("goalies", size.Goalies, "about how many goalies a setting")
	seed := flag.Uint64("seed", size.Seed, "of the random numbers")
	part := flag.String("part", "", "only the parts whose name holds this, such as charts")
	flag.Parse()
	if *smoke {
		size = simulation.Smoke
	} else {
		size.Goalies = *goalies
	}
	size.Seed = *seed
	var lines []simulation.Line
	for _, s := range simulation.Sections {
		if strings.Contains(s.Name, *part) {
			lines = append(lines, s.Run(size)...)
		}
	}
	if lines == nil {
		fmt.Fprintf(os.Stderr, "no part's name holds %q\n", *part)
		os.Exit(2)
	}
	if *all {
		simulation.WriteLines(os.Stdout, lines)
	}
	missed, small := simulation.WriteTable(os.Stdout, lines, size.Full)
	fmt.Println()
	simulation.WriteReported(os.Stdout, lines)
	fmt.Printf("\n%d aims missed, %d measured too coarsely to tell.\n", missed, small)
	if missed+small > 0 {
		os.Exit(1)
	}
}
