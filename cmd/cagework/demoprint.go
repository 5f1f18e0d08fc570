package main

import (
	"context"
	"fmt"
	"strings"

	"cagework/domain"
	"cagework/openapi/client"
)

// printWeek prints the goalie's week as it comes from the API.
func printWeek(
	ctx context.Context, c *console, api *client.ClientWithResponses, goalie domain.ID, week domain.Week,
) error {
	w, err := goalieWeek(ctx, api, goalie, week)
	if err != nil {
		return err
	}
	c.printf("%s, week %s (%s to %s)\n", w.Goalie.Name, w.Week, w.From, w.To)
	c.printf("Availability: %s. Practice minutes this week: %d.\n", w.Goalie.Availability, w.PracticeMinutes)
	if b := w.LiveShots; b != nil {
		c.printf("Live shots: %d of %d used, %d left (%s)\n", b.Used, b.BudgetWeek, b.Left, b.Source)
	}
	printWorkOns(c, w)
	for _, play := range w.Plays {
		c.printf("\nRates, %s %s\n", play.CodeOfPlay, play.Level)
		for _, rate := range play.Rates {
			c.printf("  %s\n", rateText(rate))
		}
		c.printf("\nOfficial line\n  this week    %s\n", lineText(play.LineWeek))
		for _, season := range play.LinesSeason {
			c.printf("  %-12s %s\n", season.Name, lineText(season.Line))
			if season.ExpectedSentence != nil {
				c.printf("  %-12s %s\n", "", *season.ExpectedSentence)
			}
		}
	}
	c.printf("\n%s\n", w.Care)
	return nil
}

func printWorkOns(c *console, w *client.GoalieWeek) {
	if w.NoWorkOn != nil {
		c.printf("\nNothing to work on: %s\n", *w.NoWorkOn)
	}
	for i, work := range w.WorkOns {
		c.printf("\nWork on, %d: %s\n  cue: %q\n  why: %s\n  order: %s\n", i+1, work.Sentence, work.Cue, work.Why, work.Order)
		if work.Kept != nil {
			c.printf("  %s\n", *work.Kept)
		}
		for _, d := range work.Drills {
			printDrill(c, d)
		}
		for _, shot := range work.Watch {
			c.printf("  watch: %s%s, %s, %s\n", shot.PlayedOn, against(shot.Opponent), filmText(shot.FilmMs), shot.Outcome)
		}
	}
	for _, well := range w.WentWell {
		c.printf("\nWent well: %s\n", well.Sentence)
	}
	for _, h := range w.HeldBack {
		c.printf("Held back: %s (%s)\n", h.What, h.Why)
	}
	for _, r := range w.ReadingList {
		c.printf("Read on the next games: %s, for %s; read on %d of %d shots of the last %d games\n",
			r.Name, r.Why, r.Read, r.Shots, r.Games)
	}
}

func printDrill(c *console, d client.WorkOnDrill) {
	c.printf("  drill: %s, %d min, %d repetitions, %s a week\n    %s\n",
		d.Name, d.Minutes, d.Repetitions, timesText(d.TimesAWeek), d.SetUp)
	for _, caution := range d.Cautions {
		c.printf("    care: %s\n", caution)
	}
	for _, note := range d.Notes {
		c.printf("    note: %s\n", note)
	}
}

func timesText(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

func against(opponent *string) string {
	if opponent == nil {
		return ""
	}
	return " against " + *opponent
}

func filmText(ms *int) string {
	if ms == nil {
		return "no film time"
	}
	return fmt.Sprintf("film %d:%02d", *ms/60000, *ms/1000%60)
}

// rateText never shows a rate without its count.
func rateText(r client.Rate) string {
	if r.Tries == 0 {
		return r.Name + ": no shots"
	}
	text := fmt.Sprintf("%s: %d of %d", r.Name, r.Hits, r.Tries)
	if r.Rate != nil && r.Low != nil && r.High != nil {
		text += fmt.Sprintf(" = %.2f (95 %% interval %.2f to %.2f)", *r.Rate, *r.Low, *r.High)
	}
	if r.TargetRate != nil && r.State != nil {
		text += fmt.Sprintf("; target %.2f: %s", *r.TargetRate, strings.ReplaceAll(string(*r.State), "_", " "))
	}
	if r.Unseen > 0 {
		text += fmt.Sprintf("; %d more not seen", r.Unseen)
	}
	return text
}

func lineText(l client.Line) string {
	return fmt.Sprintf("%d games, %d shots, %d on goal, %d saves, %d goals against, save percentage %s, "+
		"goals-against average %s in %d:%02d", l.Games, l.Shots, l.ShotsOnGoal, l.Saves, l.GoalsAgainst,
		orNone(l.SavePercentageText), orNone(l.GoalsAgainstAverageText), l.Seconds/60, l.Seconds%60)
}

func orNone(s *string) string {
	if s == nil {
		return "none"
	}
	return *s
}
