package summary

import (
	"fmt"
	"math"
	"strings"
)

// Thousandths is a number in thousandths: 627 is .627. The trade prints percentages and averages with three
// decimals, a half rounded up; binary fractions print some of them wrongly, so they are kept as whole numbers.
type Thousandths int

// Ratio gives n/d in thousandths, exactly, a half rounded up. n is at least 0 and d above 0.
func Ratio(n, d int) Thousandths { return Thousandths((2000*n + d) / (2 * d)) }

// Nearest gives a number that was never a ratio of counts, such as the end of an interval, in thousandths.
func Nearest(v float64) Thousandths { return Thousandths(math.Floor(1000*v + 0.5)) }

// String writes a rate as the trade does: three decimals, no zero before the point: .627, 1.000.
func (t Thousandths) String() string { return strings.TrimPrefix(t.Average(), "0") }

// Average writes an average as the trade does: three decimals, with the zero before the point: 7.448, 0.000.
func (t Thousandths) Average() string { return fmt.Sprintf("%d.%03d", t/1000, t%1000) }

// Short writes two decimals where the third is 0, as targets are written: .50, .545.
func (t Thousandths) Short() string {
	s := t.String()
	if t%10 == 0 {
		return s[:len(s)-1]
	}
	return s
}

// MarshalJSON writes a plain number with three decimals: 0.627.
func (t Thousandths) MarshalJSON() ([]byte, error) {
	return []byte(t.Average()), nil
}

// UnmarshalJSON reads what MarshalJSON wrote, to the nearest thousandth.
func (t *Thousandths) UnmarshalJSON(data []byte) error {
	var v float64
	if _, err := fmt.Sscan(string(data), &v); err != nil {
		return fmt.Errorf("not a number: %w", err)
	}
	*t = Nearest(v)
	return nil
}
