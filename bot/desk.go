package bot

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"shortday/knowledge/calendar"
	"shortday/knowledge/fault"
)

// Desk answers. It is the one place where errors become replies and where our own failures are logged.
type Desk struct {
	families []Family
	standing func(context.Context, Ask) (Standing, error)
	look     func(context.Context, func(context.Context) error) error
	log      *slog.Logger
}

// confirm is the field by which a request that asks once more is told that it was meant.
const confirm = "sure"

// NewDesk makes a desk of families. Standing tells what is known of an asker; it is asked once for each Ask.
// Families that break Check are a wrong program.
func NewDesk(families []Family, standing func(context.Context, Ask) (Standing, error), log *slog.Logger) *Desk {
	d := &Desk{standing: standing, log: log, look: func(ctx context.Context, do func(context.Context) error) error { return do(ctx) }}
	for _, f := range families {
		f.Requests = slices.Clone(f.Requests)
		for i, r := range f.Requests {
			if r.Confirm != "" {
				f.Requests[i].Fields = append(slices.Clone(r.Fields),
					Field{Name: confirm, Help: "yes when it is really meant", Kind: YesKind})
			}
		}
		d.families = append(d.families, f)
	}
	if err := Check(d.families); err != nil {
		panic(err)
	}
	return d
}

// Looking makes each ask be answered with the context that look hands on: so all of it sees one state of what is recorded.
func (d *Desk) Looking(look func(context.Context, func(context.Context) error) error) *Desk {
	d.look = look
	return d
}

// Families gives the families as they are answered: a request with a Confirm has its field for it.
func (d *Desk) Families() []Family { return d.families }

// Request gives the request of a path such as "/stock add".
func (d *Desk) Request(path string) (Request, bool) {
	for _, f := range d.families {
		for _, r := range f.Requests {
			if f.Path(r) == path {
				return r, true
			}
		}
	}
	return Request{}, false
}

// AnswerLine answers a request as it was typed; the ask's own request and fields are not used.
func (d *Desk) AnswerLine(ctx context.Context, ask Ask, typed string) Reply {
	request, fields, err := d.Read(typed)
	if err != nil {
		return d.refuse(ctx, ask, err)
	}
	ask.Request, ask.Fields = request, fields
	return d.Answer(ctx, ask)
}

// Answer answers, whatever happens: every error, and a handler's panic, becomes a refusal.
func (d *Desk) Answer(ctx context.Context, ask Ask) (reply Reply) {
	defer func() {
		if p := recover(); p != nil {
			reply = d.refuse(ctx, ask, fmt.Errorf("panic: %v\n%s", p, debug.Stack()))
		}
	}()
	err := d.look(ctx, func(ctx context.Context) (err error) {
		reply, err = d.answer(ctx, ask)
		return err
	})
	if err != nil {
		return d.refuse(ctx, ask, err)
	}
	return reply
}

func (d *Desk) answer(ctx context.Context, ask Ask) (Reply, error) {
	in, err := d.open(ctx, ask)
	if err != nil {
		return Reply{}, err
	}
	r := in.request
	if err := allowed(in); err != nil {
		return Reply{}, err
	}
	if missing := r.Missing(in.Fields); len(missing) > 0 {
		return Reply{}, tellMe(in.Request, missing)
	}
	if r.Confirm != "" && !in.Yes(confirm) && in.Err() == nil {
		return askOnce(in), nil
	}
	reply, err := Reply{}, in.Err()
	if err == nil {
		reply, err = r.Handle(ctx, in)
	}
	if err == nil {
		err = in.Err()
	}
	if err == nil {
		err = reply.Rows.check()
	}
	return reply, err
}

// open finds the request and reads the ask as its asker means it.
func (d *Desk) open(ctx context.Context, ask Ask) (*In, error) {
	r, ok := d.Request(ask.Request)
	if !ok {
		if _, _, err := d.Read(ask.Request); err != nil {
			return nil, err
		}
		return nil, fault.New(fault.Unclear, "There is no request %s. /help lists what can be asked.", ask.Request)
	}
	if err := known(ask.Request, r, ask.Fields); err != nil {
		return nil, err
	}
	standing, err := d.standing(ctx, ask)
	if err != nil {
		return nil, fmt.Errorf("looking up the asker: %w", err)
	}
	if ask.Steward {
		standing.Right = Steward
	}
	ask.At = inZone(ask, standing.Zone)
	return &In{Ask: ask, Standing: standing, request: r}, nil
}

func inZone(ask Ask, zone *time.Location) time.Time {
	switch at := ask.At; {
	case zone == nil:
		return at
	case ask.Clock:
		struck, _ := calendar.At(calendar.DayAt(at), at.Hour(), at.Minute(), zone)
		return struck
	default:
		return at.In(zone)
	}
}

func allowed(in *In) error {
	switch {
	case in.Right >= in.request.Right:
		return nil
	case in.request.Right == Steward:
		return fault.New(fault.Barred, "Only a steward of the co-op may ask %s. Ask one of them to do it; /coop show names them.", in.Request)
	default:
		return fault.New(fault.Barred, "%s is for members. You become one by your first /grower place or /stock add.", in.Request)
	}
}

func tellMe(request string, missing []Field) error {
	var names, how []string
	for _, f := range missing {
		names = append(names, "the "+f.Name)
		how = append(how, fmt.Sprintf("%s: (%s)", f.Name, f.Help))
	}
	return fault.New(fault.Unclear, "Tell me %s too: %s needs %s.", list(names), request, list(how))
}

func askOnce(in *In) Reply {
	sure := in.Ask
	sure.Fields = append(slices.DeleteFunc(slices.Clone(in.Fields), func(e Entry) bool { return e.Field == confirm }), Entry{Field: confirm, Text: "yes"})
	return Reply{Text: in.request.Confirm, Private: true, Next: []Next{{Label: "Yes, do it", Request: sure.String()}}}
}

// refuse makes the reply of an error, and logs it once if the failure is ours.
func (d *Desk) refuse(ctx context.Context, ask Ask, err error) Reply {
	refusal := Refusal{Kind: fault.KindOf(err)}
	if e, ok := errors.AsType[*fault.Error](err); ok {
		refusal.Text = e.Text
	}
	switch {
	case errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded):
		refusal = Refusal{Kind: fault.Later, Text: "This took too long and was given up. Please ask again."}
	case refusal.Kind == fault.Internal:
		d.log.ErrorContext(ctx, "a request failed", "request", ask.Request, "err", err)
		refusal.Text = "Something failed on our side, not yours. Please ask again; if it stays so, tell your steward."
	}
	return Reply{Private: true, Refusal: &refusal}
}

// list joins words as in "a, b and c".
func list(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := len(words) - 1
	return strings.Join(words[:last], ", ") + " and " + words[last]
}
