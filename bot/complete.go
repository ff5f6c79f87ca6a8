package bot

import (
	"context"
	"strings"
)

// Offered is how many choices a field offers at most; Discord shows no more.
const Offered = 25

// Complete gives up to Offered values for what was typed into a field so far. Day fields echo how the day is read.
func (d *Desk) Complete(ctx context.Context, ask Ask, field, typed string) (choices []Choice) {
	defer func() {
		if p := recover(); p != nil {
			d.log.ErrorContext(ctx, "completing failed", "request", ask.Request, "field", field, "err", p)
			choices = nil
		}
	}()
	ask.Fields = without(ask.Fields, field)
	err := d.look(ctx, func(ctx context.Context) error {
		in, err := d.open(ctx, ask)
		if err != nil {
			return nil // the request itself will be refused
		}
		if f, ok := in.request.Field(field); ok {
			choices, err = offer(ctx, in, f, strings.TrimSpace(typed))
		}
		return err
	})
	if err != nil {
		d.refuse(ctx, ask, err) // for the log alone
		return nil
	}
	return choices[:min(len(choices), Offered)]
}

func offer(ctx context.Context, in *In, f Field, typed string) ([]Choice, error) {
	switch {
	case f.Complete != nil:
		return f.Complete(ctx, in, typed)
	case f.Kind == YesKind:
		return Matching(Choices("yes", "no"), typed), nil
	case f.Kind == DayKind:
		if typed == "" {
			typed = "today"
		}
		day, err := in.Reader(in.Today()).Read(typed, f.Sense)
		if err != nil {
			return nil, nil // half a day typed is no fault yet
		}
		return []Choice{{Label: day.Long(), Value: day.String()}}, nil
	default:
		return Matching(f.Choices, typed), nil
	}
}

// Matching gives the choices that begin with what was typed, then those that contain it, without regard to case.
func Matching(choices []Choice, typed string) []Choice {
	var begin, contain []Choice
	typed = strings.ToLower(typed)
	for _, c := range choices {
		switch label, value := strings.ToLower(c.Label), strings.ToLower(c.Value); {
		case strings.HasPrefix(label, typed) || strings.HasPrefix(value, typed):
			begin = append(begin, c)
		case strings.Contains(label, typed) || strings.Contains(value, typed):
			contain = append(contain, c)
		}
	}
	return append(begin, contain...)
}

func without(fields []Entry, name string) []Entry {
	var kept []Entry
	for _, e := range fields {
		if e.Field != name {
			kept = append(kept, e)
		}
	}
	return kept
}
