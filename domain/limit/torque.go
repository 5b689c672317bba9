package limit

// torque is the greatest torque of the programme against that of the stand's
// drive, worked out from the forces given with half the arc of contact as lever
// arm, which is what a hot pass has at most, and the friction of the bearings. As
// with the force, a predicted one is no ground to bar a programme.
var torque = Kind{
	Criterion: Torque, Unit: "kNm", Words: "torque", Noun: "torque",
	Fixed: func(a *Ahead) []Fixed {
		limit := a.Stand.MaxTorqueKNM
		if limit == 0 || len(a.Stand.Work.Rolls) == 0 {
			return nil
		}
		return []Fixed{{Roll: a.Rolls[0].Number, Limit: limit, PerPiece: a.TorqueKNM, ByForce: true,
			Source: "limit: stand " + a.Stand.Name + "; use: greatest torque of the programme, both rolls together, from its forces at half the arc of contact and the friction of the bearings"}}
	},
}

// Torque goes with the force: smaller forces are a way out of it.
const Torque Criterion = "torque"
