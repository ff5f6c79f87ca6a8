package requests

import (
	"context"
	"fmt"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/crop"
	"shortday/knowledge/exchange"
	"shortday/knowledge/fault"
	"shortday/knowledge/health"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// swapOffer offers a part of a batch and says what that rests on and what is to be heeded.
func (c counter) swapOffer(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	c.batch(ctx, in, seat.Coop.ID, "batch") // before anyone is made a member
	seat = c.enter(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	b := c.batch(ctx, in, seat.Coop.ID, "batch")
	of := register.Offering{Batch: b.ID, Stock: readStock(in), Number: in.Whole("number"), From: in.Day("from"), Until: in.Day("until"), Spot: in.Text("where")}
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	o, err := c.reg.MakeOffer(ctx, actor, of)
	if err != nil {
		return bot.Reply{}, err
	}
	heeded, err := c.heeded(ctx, in, register.Seat{Coop: seat.Coop, Member: own}, o.Variety)
	if err != nil {
		return bot.Reply{}, err
	}
	waits, err := c.waits(ctx, in, b, o)
	if err != nil {
		return bot.Reply{}, err
	}
	left := ""
	if o.Stock == exchange.Stools {
		if left, err = c.leftAfter(ctx, in, register.Seat{Coop: seat.Coop, Member: own}, b, o.Number); err != nil {
			return bot.Reply{}, err
		}
	}
	member := in.Text("for")
	return bot.Reply{
		Title:   "Offered: " + o.Stock.Of(o.Number) + " of " + o.Name,
		Private: waits != "", // the group hears of a pest only what its reporter lets it
		Text: paragraphs(recordedFor(own, actor)+fmt.Sprintf("Offer %d: part of batch %s, %s.%s", o.ID, o.Mark, register.Between(o.From, o.Until), handedAt(o.Spot)),
			offerBasis(b, o, register.Seat{Coop: seat.Coop, Member: own}), waits, left, heeded),
		Next: []bot.Next{{Label: "Who wants them", Request: bot.Typed("/swap list", "variety", o.Name, "show", "wants")},
			{Label: "Find what fits", Request: "/swap match"},
			{Label: "Take it back", Request: bot.Typed("/swap withdraw", "offer", id(o.ID), "for", member)}},
	}, nil
}

func handedAt(spot string) string {
	if spot == "" {
		return ""
	}
	return " Handed over: " + spot + "."
}

// heeded is what there is to heed before a variety changes hands: breeders' rights, and papers where the member grows.
func (c counter) heeded(ctx context.Context, in *bot.In, own register.Seat, of int64) (string, error) {
	v, err := c.reg.Variety(ctx, of)
	return paragraphs(v.Caution(in.Today()), papersFor(own, own)), err
}

// papersFor names the duty that may apply where plants go from one member to another.
func papersFor(from, to register.Seat) string { return health.Papers(from.Country(), to.Country()) }

// waits says that an offer is held back for health, and until when.
func (c counter) waits(ctx context.Context, in *bot.In, b register.Batch, o register.Offer) (string, error) {
	h, err := c.reg.HoldOf(ctx, b.ID, in.Today())
	switch {
	case err != nil || h.ID == 0:
		return "", err
	case h.Last >= o.Until:
		return "But " + lowerFirst(h.Refusal(b.Mark).Text) + " The offer ends before that: say a later until:, or offer it again then.", nil
	}
	return "But " + lowerFirst(h.Refusal(b.Mark).Text) + " Until then the offer waits.", nil
}

// leftAfter warns where stools that are offered would be missing from those that the member keeps or needs.
func (c counter) leftAfter(ctx context.Context, in *bot.In, own register.Seat, b register.Batch, n int) (string, error) {
	s, err := c.stools(ctx, in, own, own.Member, b.Variety, 0)
	if err != nil || s.spare() >= n {
		return "", err
	}
	left := fmt.Sprintf("That would leave %s of %s, ", plural(s.have-n, "stool", "stools"), b.Name)
	if s.aimed == 0 {
		return left + fmt.Sprintf("fewer than the %d you keep back.", s.keep), nil
	}
	return left + fmt.Sprintf("%d too few for the %d you keep back and the %d that your targets need.", n-s.spare(), s.keep, s.aimed), nil
}

// offerBasis says what the days of an offer rest on.
func offerBasis(b register.Batch, o register.Offer, own register.Seat) string {
	switch {
	case o.Stock == exchange.Unrooted && b.Stage == crop.Taken:
		return "They were taken on " + b.Since.Long() + ": cut material keeps days, not weeks (common practice)."
	case o.Stock == exchange.Unrooted && b.Stage == crop.Woken:
		step := crop.CutAfter(calendar.On(b.Since), own.Place())
		return fmt.Sprintf("Shoots are reckoned from waking on %s: %s (%s). The stools stay yours.", b.Since.Long(), step.Rule, step.Source)
	case o.Stock == exchange.Unrooted && b.Stage == crop.Boxed:
		return "Shoots are reckoned from the day planned for waking, and the days move with it. The stools stay yours."
	case o.Stock == exchange.Unrooted:
		return "The plants stay yours; shoots are offered for four weeks where you say nothing else."
	case o.Stock == exchange.Rooted && b.Stage == crop.Struck:
		step := crop.RootAfter(calendar.On(b.Since), own.Place())
		return fmt.Sprintf("Roots are reckoned from striking on %s: %s (%s).", b.Since.Long(), step.Rule, step.Source)
	}
	return ""
}

// swapWant records a want and says what would serve it.
func (c counter) swapWant(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	c.variety(ctx, in, seat.Coop.ID, register.Member{}, "variety") // before anyone is made a member
	c.variety(ctx, in, seat.Coop.ID, register.Member{}, "like")
	of := readWish(in)
	seat = c.enter(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	of.Variety = c.variety(ctx, in, seat.Coop.ID, own, "variety").ID
	of.Like = c.variety(ctx, in, seat.Coop.ID, own, "like").ID
	of.Plan = c.target(ctx, in, own, "target").ID
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	w, err := c.reg.MakeWant(ctx, actor, of)
	if err != nil {
		return bot.Reply{}, err
	}
	serves := "until " + w.Last.Long()
	if of.Last.IsZero() && w.Plan != 0 {
		p, err := c.reg.Plan(ctx, w.Plan)
		if err != nil {
			return bot.Reply{}, err
		}
		serves += fmt.Sprintf(", the last day on which they serve your target %s; it moves with the plan", targetTitle(p))
	}
	offered, next, err := c.servedBy(ctx, in, own, w)
	if err != nil {
		return bot.Reply{}, err
	}
	return bot.Reply{
		Title: "Wanted: " + w.Stock.Of(w.Number) + " of " + w.What(),
		Text:  paragraphs(recordedFor(own, actor)+fmt.Sprintf("Want %d: %s.", w.ID, serves), offered),
		Next:  append(next, bot.Next{Label: "Take it back", Request: bot.Typed("/swap withdraw", "want", id(w.ID), "for", in.Text("for"))}),
	}, nil
}

// readWish reads what is wanted by its kind; a class is a season and a form.
func readWish(in *bot.In) register.Wish {
	of := register.Wish{Stock: readStock(in), Number: in.Whole("number"), Last: in.Day("until"), Colour: in.Text("colour"), Season: variety.Season(in.Choice("season"))}
	of.Form = bot.Take(in, "form", variety.ReadForm)
	if class := bot.Take(in, "class", variety.ReadClass); class.Name != "" {
		kind := class.Variety()
		of.Season, of.Form = kind.Season, kind.Form
	}
	return of
}

// servedBy says what is on offer that would serve a want.
func (c counter) servedBy(ctx context.Context, in *bot.In, own register.Member, w register.Want) (string, []bot.Next, error) {
	on, err := c.reg.OnOffer(ctx, register.Shelf{Coop: own.Coop, Variety: w.Variety, Stock: w.Stock, Today: in.Today(), Limit: 200})
	if err != nil {
		return "", nil, err
	}
	var like register.Variety
	if w.Like != 0 {
		if like, err = c.reg.Variety(ctx, w.Like); err != nil {
			return "", nil, err
		}
	}
	var ready, later []register.Offer
	for _, o := range on {
		v, err := c.reg.Variety(ctx, o.Variety)
		if err != nil {
			return "", nil, err
		}
		switch {
		case o.Member == own.ID || !w.Fits(v, like):
		case o.From > w.Last:
			later = append(later, o)
		default:
			ready = append(ready, o)
		}
	}
	sum, err := c.reg.InAll(ctx, ready)
	if err != nil {
		return "", nil, err
	}
	late, err := c.reg.InAll(ctx, later)
	if err != nil {
		return "", nil, err
	}
	switch {
	case sum > 0:
		return fmt.Sprintf("On offer in time: %s.", w.Stock.Of(sum)), []bot.Next{{Label: "Find what fits", Request: "/swap match"}}, nil
	case late > 0:
		return fmt.Sprintf("On offer are %s, but ready only after that day.", w.Stock.Of(late)), nil, nil
	}
	return "Nobody offers that yet. Whoever does will see that you want it.", nil, nil
}

// swapWithdraw takes an offer or a want back, and says what ends with it and what stands.
func (c counter) swapWithdraw(ctx context.Context, in *bot.In) (bot.Reply, error) {
	offer, want := numbered(in, "offer"), numbered(in, "want")
	if in.Err() == nil && (offer == 0) == (want == 0) {
		in.Fail(fault.New(fault.Unclear, "Which one? Name an offer: or a want: of yours; /swap list show:mine has their numbers."))
	}
	seat := c.seat(ctx, in)
	actor, own := c.actor(ctx, in, seat)
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	if offer != 0 {
		o, w, err := c.reg.WithdrawOffer(ctx, actor, offer)
		return bot.Reply{Title: fmt.Sprintf("Offer %d withdrawn", offer), Private: true,
			Text: paragraphs(recordedFor(own, actor)+fmt.Sprintf("%s of %s are offered no longer.", upper(o.Stock.Of(o.Number)), o.Name), withdrawnWords(w))}, err
	}
	w, out, err := c.reg.WithdrawWant(ctx, actor, want)
	return bot.Reply{Title: fmt.Sprintf("Want %d withdrawn", want), Private: true,
		Text: paragraphs(recordedFor(own, actor)+fmt.Sprintf("%s of %s are wanted no longer.", upper(w.Stock.Of(w.Number)), w.What()), withdrawnWords(out))}, err
}

func withdrawnWords(w register.Withdrawn) string {
	var text []string
	if n := len(w.Broken); n > 0 {
		text = append(text, fmt.Sprintf("%s with it; whom it touched is told.", plural(n, "open proposal ends", "open proposals end")))
	}
	for _, s := range w.Promise {
		text = append(text, fmt.Sprintf("Swap %d stands: %s. /swap cancel ends it.", s.ID, s.Sentence()))
	}
	return sentences(text)
}

func lowerFirst(text string) string { return strings.ToLower(text[:1]) + text[1:] }
