package command

import (
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"strings"

	"kitbell/bot"
	"kitbell/bot/budget"
	"kitbell/bot/chart"
)

// chartScene begins the scene key of a chart. The key holds the figures, so that it
// can be drawn whenever it is sent: chart:KIND:FIGURES.
const chartScene = "chart:"

// drawer is a chart of any kind.
type drawer interface {
	Draw(chart.Options) (chart.Picture, error)
}

// chartPicture is a picture of figures, with their words.
func chartPicture(kind string, figures drawer) (bot.Picture, error) {
	drawn, err := figures.Draw(chart.Options{})
	if err != nil {
		return bot.Picture{}, fmt.Errorf("draw %s: %w", kind, err)
	}
	text, err := json.Marshal(figures)
	if err != nil {
		return bot.Picture{}, fmt.Errorf("name chart of %s: %w", kind, err)
	}
	return bot.Picture{Scene: chartScene + kind + ":" + base64.RawURLEncoding.EncodeToString(text), Alt: drawn.Alt}, nil
}

// drawChart makes the PNG of a chart's scene key.
func drawChart(key string) ([]byte, error) {
	kind, encoded, _ := strings.Cut(strings.TrimPrefix(key, chartScene), ":")
	text, err := base64.RawURLEncoding.DecodeString(encoded)
	if err != nil {
		return nil, fmt.Errorf("read chart: %w", err)
	}
	switch kind {
	case "spend":
		return drawAs[chart.Spend](text)
	case "readiness":
		return drawAs[chart.Readiness](text)
	case "shortages":
		return drawAs[chart.Shortages](text)
	case "coverage":
		return drawAs[chart.Coverage](text)
	}
	return nil, fmt.Errorf("chart of %q: %w", kind, bot.ErrNotFound)
}

func drawAs[T drawer](text []byte) ([]byte, error) {
	var figures T
	if err := json.Unmarshal(text, &figures); err != nil {
		return nil, fmt.Errorf("read chart: %w", err)
	}
	drawn, err := figures.Draw(chart.Options{})
	return drawn.PNG, err
}

// spendPicture shows the spend below a reply.
func (r *Request) spendPicture(ctx context.Context, draft budget.Request) ([]bot.Picture, error) {
	spend, err := r.spend(ctx, draft)
	if err != nil {
		return nil, err
	}
	picture, err := chartPicture("spend", spend)
	return []bot.Picture{picture}, err
}

// spend is what was asked for, granted and bought, year by year, with the draft's
// years behind those that were handed in.
func (r *Request) spend(ctx context.Context, draft budget.Request) (chart.Spend, error) {
	past, err := r.submitted(ctx)
	if err != nil {
		return chart.Spend{}, err
	}
	spend := chart.Spend{Title: "Asked, granted and bought", Currency: r.Department.Currency}
	for _, s := range past {
		opening := s.Opening(s.Request.Year)
		year := chart.Year{Year: fmt.Sprintf("FY %d", opening.Year), Asked: chart.Known(opening.Asked), Bought: chart.Known(opening.Paid)}
		if opening.Undecided == 0 {
			year.Granted = chart.Known(opening.Granted)
		}
		if n := len(spend.Years); n > 0 && spend.Years[n-1].Year == year.Year {
			spend.Years = spend.Years[:n-1] // a later request of the same year takes its place
		}
		spend.Years = append(spend.Years, year)
	}
	for year := draft.Year; year < draft.Year+draft.Years; year++ {
		spend.Years = append(spend.Years, chart.Year{Year: fmt.Sprintf("FY %d, draft", year), Asked: chart.Known(draft.OfYear(year).Total)})
	}
	if most := 12; len(spend.Years) > most {
		spend.Years = spend.Years[len(spend.Years)-most:]
	}
	return spend, nil
}
