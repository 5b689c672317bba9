package stop_test

import (
	"errors"
	"flag"
	"math"
	"strconv"
	"testing"
	"time"

	"barrelbook/domain/changeplan"
	"barrelbook/domain/life"
	"barrelbook/domain/stop"
	"barrelbook/domain/survival"
	"barrelbook/domain/wearrate"
)

var gaps = flag.Bool("gaps", false, "run the heaviest case of each solver for 3 s and print the longest time between two askings")

// heaviest is, for each solver, a case near the largest the contract takes: by
// itself each works for seconds to minutes.
var heaviest = map[string]func(ask stop.Check) error{
	"change-plan": func(ask stop.Check) error {
		_, err := changeplan.Plan(manyStands(1000, 7), changeplan.Options{Stop: ask})
		return err
	},
	"change-plan, 60 stands": func(ask stop.Check) error {
		_, err := changeplan.Plan(manyStands(5000, 60), changeplan.Options{Stop: ask})
		return err
	},
	"queue": func(ask stop.Check) error {
		var jobs []changeplan.GrindJob
		for i := range 300 {
			jobs = append(jobs, changeplan.GrindJob{ID: strconv.Itoa(i), ReadyMin: float64(i * 7919 % 1000), GrindMin: 30 + float64(i*104729%40), DueMin: float64(i * 15485863 % 900)})
		}
		_, err := changeplan.Queue(jobs, []changeplan.Grinder{{ID: "1"}, {ID: "2"}}, changeplan.QueueOptions{MaxNodes: 2e6, Stop: ask})
		return err
	},
	"assign": func(ask stop.Check) error {
		var slots []changeplan.Slot
		var sets []changeplan.Candidate
		for i := range 400 {
			slots = append(slots, changeplan.Slot{ID: strconv.Itoa(i), DueMin: float64(i)})
			sets = append(sets, changeplan.Candidate{ID: strconv.Itoa(i), TopDiameterUM: 700_000, BottomDiameterUM: 700_000, ReadyMin: float64(i * 7919 % 400)})
		}
		_, err := changeplan.Assign(slots, sets, changeplan.Weights{LatePerMin: 1}, ask)
		return err
	},
	"weibull": func(ask stop.Check) error {
		_, err := survival.FitWeibull(lives(200_000), ask)
		return err
	},
	"wear-rate": func(ask stop.Check) error {
		campaigns := make([]wearrate.Run, 200_000)
		for i := range campaigns {
			campaigns[i] = wearrate.Run{Roll: strconv.Itoa(i % 4000), Cell: wearrate.Cell{Grade: "g", Stand: strconv.Itoa(i % 7)},
				RolledKM: 20 + float64(i%37), SpecificForceKNPerMM: 8 + float64(i%5), WearUM: 100 + float64(i*7919%200)}
		}
		_, err := wearrate.Learn(campaigns, wearrate.StandardDefaults(), ask)
		return err
	},
	"roll-life": func(ask stop.Check) error {
		_, err := life.Remaining(life.Input{StockMM: 100, Wear: life.Spread{Mean: 0.01, CV: 0.5}, WearFollowsTonnes: true,
			Tonnes: life.Spread{Mean: 1000, CV: 0.4}}, ask)
		return err
	},
	"roll-life, incidents only": func(ask stop.Check) error {
		_, err := life.Remaining(life.Input{StockMM: 100, Incident: life.Incident{Probability: 0.5, MinimumMM: 0.01, MeanExcessMM: 0.01},
			Tonnes: life.Spread{Mean: 1000, CV: 0.4}}, ask)
		return err
	},
}

// manyStands rolls k pieces in n stands with costs that tie seldom.
func manyStands(k, n int) changeplan.Problem {
	p := changeplan.Problem{Pieces: k, StopCost: 17, PlannedStopCost: 3}
	for j := 1; j < k; j += 9 {
		p.PlannedStops = append(p.PlannedStops, j)
	}
	for s := range n {
		usage := make([]int64, k)
		for j := range usage {
			usage[j] = int64(100 + (j*7919+s*104729)%97)
		}
		p.Stands = append(p.Stands, changeplan.Stand{Name: strconv.Itoa(s), Limit: int64(6000 + 613*s), ChangeCost: float64(3 + s), UnusedCostPerUnit: 0.01, EndCostPerUnit: 0.003, Usage: usage})
	}
	return p
}

func lives(n int) []survival.Observation {
	list := make([]survival.Observation, n)
	for i := range list {
		list[i] = survival.Observation{Value: math.Exp(float64(i*7919%n) / float64(n)), Failed: i%3 > 0}
	}
	return list
}

// TestEverySolverStops ends each at its third asking and wants that error and no
// further asking.
func TestEverySolverStops(t *testing.T) {
	left := errors.New("the caller left")
	for name, solve := range heaviest {
		t.Run(name, func(t *testing.T) {
			asked := 0
			var last time.Time
			var longest time.Duration
			ask := func() error {
				now := time.Now()
				if asked++; asked > 1 {
					longest = max(longest, now.Sub(last))
				}
				last = now
				if asked == 3 {
					return left
				}
				return nil
			}
			if err := solve(ask); !errors.Is(err, left) || asked != 3 {
				t.Errorf("ended with %v after %d askings, want the caller's error at the third", err, asked)
			}
			if !*gaps {
				return
			}
			until := time.Now().Add(3 * time.Second)
			begun := time.Now()
			last, longest = begun, 0
			err := solve(func() error {
				now := time.Now()
				longest, last = max(longest, now.Sub(last)), now
				if now.After(until) {
					return left
				}
				return nil
			})
			t.Logf("%s: longest %v between two askings; after %v: %v", name, max(longest, time.Since(last)), time.Since(begun), err)
		})
	}
}
