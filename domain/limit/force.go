package limit

// force is the greatest force of the programme against the stand's. Predicted
// forces are no ground to bar a programme.
var force = Kind{
	Criterion: Force, Unit: "kN", Words: "force", Noun: "force",
	Fixed: func(a *Ahead) []Fixed {
		limit := a.Stand.MaxForceKN
		if limit == 0 || len(a.Stand.Work.Rolls) == 0 {
			return nil
		}
		f := Fixed{Roll: a.Rolls[0].Number, Limit: limit, PerPiece: a.ForceKN, ByForce: true,
			Source: "limit: stand " + a.Stand.Name + "; use: greatest force of the programme"}
		for i := range a.Stand.Work.Rolls {
			f.Now = max(f.Now, a.Stand.Work.Rolls[i].Stay.MaxForceKN)
		}
		return []Fixed{f}
	},
}

// Force is asked for by name: smaller forces are a way out of it.
const Force Criterion = "force"
