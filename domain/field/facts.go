package field

import "math"

// Seen is what somebody marked of one shot. What is nil nobody marked.
type Seen struct {
	Ball            Spot  // at release
	Pass            *Spot // from where the last pass came
	CatchToReleaseS *float64
	ReleaseUpM      *float64 // of the ball above the ground
	SpeedMS         *float64
	Finish          *Finish
	Bounced         bool
	Keeper          *Spot    // the point midway between the feet, at release
	FacingDeg       *float64 // where the goalkeeper's hips face, read by eye; see [OffSquareDeg]
	Arc             *Arc     // the program's
	ShadeNearM      float64  // the program's, toward the near pipe; see [ShadeToRight]
	Silhouette      *Silhouette
}

// Facts is what follows from [Seen]. What ends in Known, or has a field of that name, says whether the rest could be worked
// out at all; where it is false the numbers are 0 and say nothing.
type Facts struct {
	Sight Sight

	Pipe             PipePlace // "" is not known; see [Opening.Pipe]
	VerticalDeg      float64   // see [VerticalAngleDeg]; none of a bounce
	VerticalKnown    bool
	FlightM          float64 // from the release to the finish point, else to the middle of the goal line, along the ground
	FlightS          float64 // without drag
	DragFlightS      float64 // with the estimate of drag, which is from memory
	FlightKnown      bool
	SwingDeg         float64
	CrossedMiddle    bool
	WentBehind       bool
	SwingKnown       bool
	Travel           Travel
	TravelKnown      bool
	TravelSpeedMS    float64
	TravelSpeedKnown bool
	Stance           Stance // its depth is good while DepthKnown, its distance out while StanceKnown
	DepthKnown       bool
	StanceKnown      bool
	OffSquareDeg     float64 // see [OffSquareDeg]
	OffSquareKnown   bool
	Post             Post // where the program's arc has the goalkeeper
	PostKnown        bool
	Net              NetLeft
	NetKnown         bool
}

// Derive works out all that follows from what was seen of a shot, without a memory allocation. The error is a [*Fault] that
// names the number: x_m or y_m of the ball, pass_x_m or pass_y_m, keeper_x_m or keeper_y_m.
func (g *Ground) Derive(s *Seen) (Facts, error) {
	if err := g.checkSeen(s); err != nil {
		return Facts{}, err
	}
	f := Facts{Sight: g.see(s.Ball)}
	g.deriveFlight(s, &f)
	g.deriveMovement(s, &f)
	g.deriveKeeper(s, &f)
	return f, nil
}

func (g *Ground) checkSeen(s *Seen) error {
	if err := g.CheckBall(s.Ball); err != nil {
		return err
	}
	for _, other := range []struct {
		prefix string
		spot   *Spot
		check  func(Spot) error
	}{{"pass_", s.Pass, g.CheckBall}, {"keeper_", s.Keeper, g.CheckSpot}} {
		if other.spot == nil {
			continue
		}
		if err := other.check(*other.spot); err != nil {
			fault := err.(*Fault) //nolint:errorlint // the checks of this package return nothing else, and wrap nothing
			return &Fault{other.prefix + fault.Field, fault.Detail}
		}
	}
	return nil
}

func (g *Ground) deriveFlight(s *Seen, f *Facts) {
	f.FlightM = f.Sight.DistanceM
	if s.Finish != nil {
		f.Pipe, _ = g.Opening().Pipe(s.Ball.XM, s.Ball.YM, s.Finish.XM)
		f.FlightM = math.Hypot(s.Ball.XM-s.Finish.XM, s.Ball.YM)
		if s.ReleaseUpM != nil && !s.Bounced {
			f.VerticalDeg, f.VerticalKnown = VerticalAngleDeg(s.Ball, *s.ReleaseUpM, *s.Finish), true
		}
	}
	if s.SpeedMS != nil {
		f.FlightS, f.FlightKnown = FlightS(*s.SpeedMS, f.FlightM)
		f.DragFlightS, _ = DragFlightS(*s.SpeedMS, f.FlightM)
	}
}

func (g *Ground) deriveMovement(s *Seen, f *Facts) {
	if s.Pass == nil {
		return
	}
	f.SwingDeg, f.SwingKnown = Swing(*s.Pass, s.Ball)
	f.CrossedMiddle, f.WentBehind = CrossedMiddle(*s.Pass, s.Ball), WentBehind(*s.Pass, s.Ball)
	if s.Arc == nil {
		return
	}
	f.Travel, f.TravelKnown = s.Arc.Travel(g.Opening(), *s.Pass, s.Ball,
		ShadeToRight(*s.Pass, s.ShadeNearM), ShadeToRight(s.Ball, s.ShadeNearM))
	if f.TravelKnown && s.CatchToReleaseS != nil {
		f.TravelSpeedMS, f.TravelSpeedKnown = f.Travel.SpeedMS(*s.CatchToReleaseS)
	}
}

func (g *Ground) deriveKeeper(s *Seen, f *Facts) {
	shade := ShadeToRight(s.Ball, s.ShadeNearM)
	if s.Arc != nil {
		if f.TravelKnown {
			f.Post, f.PostKnown = f.Travel.To, true
		} else {
			f.Post, f.PostKnown = s.Arc.PostFor(g.Opening(), s.Ball, shade)
		}
	}
	if s.Keeper == nil {
		return
	}
	if b, ok := BisectorFrom(g.Opening(), s.Ball); ok {
		f.Stance, f.StanceKnown = b.Stance(*s.Keeper, shade), true
	}
	f.Stance.DepthM, f.DepthKnown = s.Keeper.YM, true // with the ball behind too
	if s.FacingDeg != nil {
		f.OffSquareDeg, f.OffSquareKnown = OffSquareDeg(*s.Keeper, s.Ball, *s.FacingDeg), true
	}
	if s.Silhouette != nil && s.ReleaseUpM != nil {
		f.Net, f.NetKnown = s.Silhouette.NetLeft(g.Opening(), s.Ball, *s.ReleaseUpM, *s.Keeper)
	}
}
