package board

import (
	"html/template"
	"net/url"
	"slices"

	"barrelbook/api/oapi"
)

type rollData struct {
	Roll     oapi.Roll
	Forecast *oapi.RollForecast
	NoDate   string          // why there is no forecast
	Places   []oapi.MapPlace // those to be looked at
	Figures  []template.HTML
	Book     []oapi.Entry // newest first
}

// roll is a roll's page: where it stands, what is owed, its life and its book.
func (b *Board) roll(v *visit) (answer, error) {
	path := "/v1/rolls/" + url.PathEscape(v.PathValue("roll"))
	r, err := read[oapi.Roll](v.asker, path)
	if err != nil {
		return answer{}, err
	}
	d := rollData{Roll: r}
	if f, err := read[oapi.RollForecast](v.asker, path+"/forecast"); err == nil {
		d.Forecast = &f
	} else {
		d.NoDate = err.Error()
	}
	if d.Book, err = everything[oapi.Entry](v.asker, path+"/entries?"); err != nil {
		return answer{}, err
	}
	m, err := read[oapi.RollMap](v.asker, path+"/map")
	if err != nil {
		return answer{}, err
	}
	d.Places = slices.DeleteFunc(slices.Clone(m.Places), func(p oapi.MapPlace) bool { return !p.Named })
	d.Figures = append(d.Figures, diameterOverTime(r, d.Book, d.Forecast, b.options.Now()), mapFigure(m), contourFigure(r))
	var stand *oapi.StandView
	if r.State.Stand != nil {
		s, err := read[oapi.StandView](v.asker, "/v1/stands/"+url.PathEscape(*r.State.Stand))
		if err != nil {
			return answer{}, err
		}
		stand = &s
	}
	d.Figures = slices.DeleteFunc(append(d.Figures, alongTheBarrel(r, stand)...), func(h template.HTML) bool { return h == "" })
	slices.Reverse(d.Book)
	return answer{template: "roll.html", title: "Roll " + r.Number, mill: r.Mill, data: d}, nil
}
