package requests

import (
	"context"
	"fmt"
	"strconv"
	"strings"

	"shortday/bot"
	"shortday/knowledge/fault"
	"shortday/knowledge/listing"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// varietyLines are varieties, a line each.
func (c counter) varietyLines() listKind {
	columns := []listing.Column{{Name: "name", Others: []string{"variety", "cultivar", "variety name", "sort", "chrysanthemum"}}}
	for _, field := range []string{"season", "form", "section", "us-class", "colour", "response", "natural", "natural-at", "bud-hours", "flower-hours",
		"stops", "kept", "shoots", "protection", "until", "licence"} {
		columns = append(columns, listing.Column{Name: field})
	}
	return listKind{
		one: "variety", many: "varieties", path: "/variety add", of: varieties(c), columns: columns, tells: []string{"name", "season"},
		with:  []bot.Entry{{Field: "sure", Text: "yes"}},
		back:  "They are the co-op's now: /variety add changes what is known of one, and a steward joins two that are the same with same-as:.",
		then:  bot.Next{Label: "The varieties", Request: "/variety list"},
		ready: c.varietiesReady,
	}
}

func (c counter) varietiesReady(ctx context.Context, in *bot.In, _ register.Member) (map[string]bool, lookAt, error) {
	seat := c.seat(ctx, in)
	all, err := c.reg.Varieties(ctx, seat.Coop.ID)
	known, names := map[string]bool{}, make([]string, len(all))
	for i, v := range all {
		known[variety.Fold(v.Name)], names[i] = true, v.Name
	}
	return known, func(_ context.Context, in *bot.In) (lineOf, error) {
		name := bot.Take(in, "name", variety.CleanName)
		v := describe(in, variety.Variety{Name: name}, seat)
		l := lineOf{key: variety.Fold(name), what: strings.TrimSuffix(name+", "+strings.TrimSpace(string(v.Season)+" "+string(v.Form)), ", ")}
		if listing.IsFormula(name) {
			l.what += "; what a spreadsheet would reckon is kept as plain words"
		}
		if near := variety.Near(name, names, 3); len(near) > 0 && !known[l.key] {
			l.what += "; is it " + listed(near) + "? If it is the same, take this line out"
		}
		names = append(names, name)
		return l, first(in.Err(), v.Check())
	}, err
}

// stopLines are dated stops and responses of one's own, a line each.
func (c counter) stopLines() listKind {
	return listKind{
		one: "dated stop", many: "dated stops", path: "/variety stops", of: varieties(c),
		columns: []listing.Column{kindOfPlant(), {Name: "on", Others: []string{"stop", "pinch", "stopped"}}, {Name: "second", Others: []string{"second stop"}}, {Name: "bloom"},
			{Name: "at", Others: []string{"latitude"}}, {Name: "source"}, {Name: "own"}, {Name: "response"}},
		tells: []string{"variety", "on", "at"},
		back:  "/variety stops lists them, and takes one out with drop:.",
		then:  bot.Next{Label: "The varieties", Request: "/variety list"},
		ready: c.stopsReady,
	}
}

func (c counter) stopsReady(ctx context.Context, in *bot.In, own register.Member) (map[string]bool, lookAt, error) {
	seat := c.seat(ctx, in)
	all, err := c.reg.Varieties(ctx, seat.Coop.ID)
	if err != nil {
		return nil, nil, err
	}
	rows, err := c.stopRows(ctx, own, all)
	known, kinds := map[string]bool{}, map[string]register.Variety{}
	for _, row := range rows {
		known[stopKey(row...)] = true
	}
	for _, v := range all {
		kinds[variety.Fold(v.Name)] = v
	}
	return known, func(_ context.Context, in *bot.In) (lineOf, error) {
		on, second, bloom, mine, weeks := in.Annual("on"), in.Annual("second"), in.Annual("bloom"), in.Yes("own"), in.Number("response")
		at := bot.Take(in, "at", readLatitude)
		v, ok := kinds[variety.Fold(in.Text("variety"))]
		switch {
		case in.Err() != nil:
			return lineOf{}, nil
		case !ok:
			return lineOf{}, fault.New(fault.Missing, "The co-op keeps no %s yet. Bring the list of varieties first, or add it with /variety add.", clipped(in.Text("variety")))
		case on.IsZero() && weeks == 0:
			return lineOf{}, unclear("The day of the stop is missing.")
		case !on.IsZero() && !in.Has("at"):
			return lineOf{}, unclear("The latitude that the stop was written for is missing.")
		case !on.IsZero() && !mine && v.AddedBy != own.ID && !seat.Member.Steward:
			return lineOf{}, fault.New(fault.Barred, "%s is the co-op's, so only who added it or a steward changes it. With yes in the column own it holds for you alone.", v.Name)
		}
		what := v.Name + ", " + stopLine(seat, variety.Stop{On: on, Second: second, Bloom: bloom, Lat: at, Source: in.Text("source")})
		if on.IsZero() {
			what = fmt.Sprintf("%s, your own response of %g weeks", v.Name, weeks)
		} else if mine {
			what += ", your own"
		}
		return lineOf{key: stopKey(stopRow(v.Name, variety.Stop{On: on, Second: second, Bloom: bloom, Lat: at, Source: in.Text("source")}, mine, weeks)...), what: what}, nil
	}, err
}

func stopKey(row ...string) string { return variety.Fold(strings.Join(row, "\x1f")) }

// stopRow writes a stop, or with no day a response of one's own.
func stopRow(name string, stop variety.Stop, own bool, response float64) []string {
	at, mine := "", ""
	if !stop.On.IsZero() {
		at = number(stop.Lat)
	}
	if own {
		mine = "yes"
	}
	return []string{name, stop.On.String(), stop.Second.String(), stop.Bloom.String(), at, stop.Source, mine, positive(response, "")}
}

func number(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// stopRows gives the co-op's stops and the member's own of some varieties.
func (c counter) stopRows(ctx context.Context, own register.Member, of []register.Variety) (rows [][]string, err error) {
	if len(of) == 0 {
		return nil, nil
	}
	stops, held, err := c.reg.Keys(ctx, of[0].Coop, own.ID)
	for _, v := range of {
		for _, stop := range stops[v.ID] {
			rows = append(rows, stopRow(v.Name, stop, false, 0))
		}
		for _, stop := range held[v.ID].Stops {
			rows = append(rows, stopRow(v.Name, stop, true, 0))
		}
		if weeks := held[v.ID].Response; weeks != 0 {
			rows = append(rows, stopRow(v.Name, variety.Stop{}, false, weeks))
		}
	}
	return rows, err
}

// varietyFiles writes what was told of varieties, and their dated stops, as lists that can be brought back. What is not
// known stays empty, and takes its default wherever it is read.
func (c counter) varietyFiles(ctx context.Context, own register.Member, of []register.Variety) ([]bot.File, error) {
	var rows [][]string
	for _, v := range of {
		at := ""
		if !v.Natural.On.IsZero() {
			at = number(v.Natural.Lat)
		}
		rows = append(rows, []string{v.Name, string(v.Season), string(v.Form), v.Section.String(), unlessZero(v.USClass), v.Colour, positive(v.Response, ""),
			v.Natural.On.String(), at, positive(v.Critical.Bud, ""), positive(v.Critical.Flower, ""), unlessZero(v.StopsWanted), unlessZero(v.Kept),
			positive(v.Shoots, ""), string(v.Protection), v.Until.String(), v.Licence})
	}
	var head []string
	for _, column := range c.varietyLines().columns {
		head = append(head, column.Name)
	}
	files := csvOf(nil, "varieties.csv", "what is known of the varieties, as a list that a spreadsheet opens", head, rows)
	stops, err := c.stopRows(ctx, own, of)
	return csvOf(files, "stops.csv", "their dated stops, and responses of your own", []string{"variety", "on", "second", "bloom", "at", "source", "own", "response"}, stops), err
}
