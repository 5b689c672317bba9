package roll

import (
	"context"
	"fmt"

	"barrelbook/client/cli/kit"
	"barrelbook/client/cli/stand"
	"barrelbook/client/conn"
	"barrelbook/client/oapi"
	"barrelbook/client/render"
	"barrelbook/domain/drawing"
)

// barrelPanels are what --svg and --png draw of a roll: the load along it while it is in
// a stand, its wear there, and its fatigue.
func barrelPanels(ctx context.Context, c *conn.Conn, u render.Units, r oapi.Roll) (list []drawing.Panel, err error) {
	if r.Mounting != nil && r.State.Stage == oapi.StageMounted {
		a, err := conn.Expect[oapi.StandView](c.API.GetStand(ctx, r.Mounting.Stand, nil))
		if err != nil {
			return nil, kit.Failure{Next: []string{kit.Path("stand list")}}.Explain(err)
		}
		if load := stand.LoadPanel(u, a.Value, r.Number); load != nil {
			list = append(list, *load)
		}
	}
	if r.SinceGrind != nil && r.SinceGrind.WearProfile != nil {
		profile := r.SinceGrind.WearProfile
		plot := u.BarrelPlot(profile.XMm, profile.Um)
		list = append(list, drawing.Panel{Title: "Wear of " + r.Number + " since its grind", X: stand.Along(plot.XUnit), Y: "wear on diameter, " + plot.YUnit,
			Curves: []drawing.Curve{{Name: r.Number, X: plot.X, Y: plot.Y}}, Down: true})
	}
	if d := r.Damage; d != nil && len(d.Along.XMm) > 1 {
		plot := u.BarrelPlot(d.Along.XMm, nil)
		list = append(list, drawing.Panel{Title: "Contact fatigue of " + r.Number + ", counted by the mill's policy", X: stand.Along(plot.XUnit),
			Y: "damage of the worst layer", FromZero: true, Limits: []drawing.Level{{Name: fmt.Sprintf("allowed: %g", d.Limit), At: d.Limit}}, Curves: []drawing.Curve{{Name: r.Number, X: plot.X, Y: d.Along.Damage}}})
	}
	return list, nil
}

// fatigueLine is the worst fatigue of a roll against what the mill allows; empty
// where none was counted.
func fatigueLine(u render.Units, d *oapi.RollDamage) string {
	if d == nil {
		return ""
	}
	side := ""
	if d.XMm > 0 {
		side = "+"
	}
	line := fmt.Sprintf("%.3g of %.3g that the policy allows, %s deep, at %s%s from the middle", d.Worst, d.Limit, u.Dimension(d.DepthMm), side, u.Dimension(d.XMm))
	if d.Worst > d.Limit {
		line += "; a grind takes it off, none heals it"
	}
	return line
}
