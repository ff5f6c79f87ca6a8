package requests

import (
	"context"
	"slices"
	"strconv"
	"strings"

	"shortday/bot"
	"shortday/knowledge/calendar"
	"shortday/knowledge/exchange"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
	"shortday/knowledge/variety"
)

// swap is the family of what members offer, want and hand over to each other.
func swap(c counter) bot.Family {
	number := bot.Field{Name: "number", Also: "count", Counts: ofPlants(), Help: "how many", Kind: bot.WholeKind, Required: true, Min: new(1.0), Max: new(100000.0)}
	maybe := number
	maybe.Required = false
	return bot.Family{Name: "swap", Help: "What members offer, want and hand over to each other", Requests: []bot.Request{
		{Name: "offer", Help: "Offer a part of a batch of yours", Handle: c.swapOffer,
			Examples: []string{"/swap offer batch:27-14 number:8", "/swap offer batch:27-3 number:20 stock:unrooted where:\"the market, Saturdays\"", "/swap offer batch:27-14 number:6 until:\"20 mar\""},
			Fields: []bot.Field{c.batchField("batch", "the mark of the batch they are part of", true), number,
				stockField("stools, cuttings or plants; what the batch is if left out"),
				{Name: "from", Help: "the first day they can be handed over; reckoned from the batch if left out", Kind: bot.DayKind},
				{Name: "until", Help: "the last day; reckoned from the batch if left out", Kind: bot.DayKind},
				{Name: "where", Help: "where they are handed over", Kind: bot.TextKind, Max: new(100.0)}, c.forField()}},
		{Name: "want", Help: "Say what you want, and until when it serves", Handle: c.swapWant,
			Examples: []string{`/swap want number:6 stock:rooted variety:Saltmarsh until:"20 apr"`, "/swap want number:4 stock:stools class:\"late spray\" colour:white until:\"1 mar\"", "/swap want number:10 stock:plants like:Saltmarsh until:\"1 may\""},
			Fields: slices.Concat([]bot.Field{number, required(stockField("stools, cuttings or plants")), c.varietyField(false)}, c.alikeFields(), []bot.Field{
				{Name: "until", Help: "the last day on which they serve; reckoned from your target if left out", Kind: bot.DayKind},
				{Name: "target", Help: "the target they are for; your next one if left out", Kind: bot.NamedKind, Complete: c.completeTargets}, c.forField()})},
		{Name: "list", Help: "Who has what, what is offered and wanted, yours, what is at risk", Handle: c.swapList,
			Examples: []string{"/swap list variety:Saltmarsh", "/swap list show:wanted", "/swap list near:\"1 mar\" stock:rooted", "/swap list show:ledger"},
			Fields: []bot.Field{c.varietyField(false),
				{Name: "show", Help: "what to list", Kind: bot.ChoiceKind, Choices: shows()},
				{Name: "near", Help: "the day near which they should be ready", Kind: bot.DayKind},
				stockField("only this form"), c.forField()}},
		{Name: "match", Help: "Find the best set of handovers for the whole co-op, and why the rest stays open", Handle: c.swapMatch, Right: bot.Member,
			Examples: []string{"/swap match", "/swap match propose:yes"},
			Fields:   []bot.Field{{Name: "propose", Help: "yes to put it to the members it touches", Kind: bot.YesKind}}},
		{Name: "agree", Help: "Agree to a proposal, or refuse it", Handle: c.swapAgree, Right: bot.Member,
			Examples: []string{"/swap agree proposal:7", "/swap agree proposal:7 answer:no why:\"too tall for us\""},
			Fields: []bot.Field{{Name: "proposal", Help: "its number", Kind: bot.NamedKind, Required: true, Bare: true, Complete: c.completeProposals},
				{Name: "answer", Help: "yes if left out; no ends the proposal", Kind: bot.YesKind},
				c.swapField("which", "the one handover you refuse; all of yours in it if left out", false), noteField("why", "why you refuse"), c.forField()}},
		c.swapMeetRequest(),
		{Name: "given", Help: "Say that you handed a swap over", Handle: c.swapGiven, Right: bot.Member,
			Examples: []string{"/swap given 12", "/swap given swap:12 number:3 on:yesterday"},
			Fields:   []bot.Field{c.swapField("swap", "its number", true), maybe, handedOn(), c.forField()}},
		{Name: "received", Help: "Say what you really received: with this the numbers move", Handle: c.swapReceived, Right: bot.Member,
			Examples: []string{"/swap received 12", "/swap received swap:12 number:3 spot:\"cold frame\""},
			Fields:   []bot.Field{c.swapField("swap", "its number", true), maybe, handedOn(), c.spotField(), noteField("note", "anything to remember of them"), c.forField()}},
		{Name: "cancel", Help: "End a swap that has not been handed over yet", Handle: c.swapCancel, Right: bot.Member,
			Examples: []string{"/swap cancel swap:12 why:\"frost in the frame\""},
			Fields:   []bot.Field{c.swapField("swap", "its number", true), required(noteField("why", "why, for those it touches")), c.forField()}},
		{Name: "correct", Help: "Put the number of a received swap right", Handle: c.swapCorrect, Right: bot.Member,
			Examples: []string{"/swap correct swap:12 number:5 why:\"one lay under the paper\""},
			Fields: []bot.Field{c.swapField("swap", "its number", true), {Name: "number", Also: "count", Counts: ofPlants(), Help: "how many were really received", Kind: bot.WholeKind, Required: true, Min: new(0.0), Max: new(100000.0)},
				required(noteField("why", "why, for the record")), c.forField()}},
		{Name: "withdraw", Help: "Take an offer or a want of yours back", Handle: c.swapWithdraw, Right: bot.Member,
			Examples: []string{"/swap withdraw offer:3", "/swap withdraw want:5"},
			Fields: []bot.Field{{Name: "offer", Help: "the number of the offer", Kind: bot.NamedKind, Complete: c.completeOffers},
				{Name: "want", Help: "the number of the want", Kind: bot.NamedKind, Complete: c.completeWants}, c.forField()}},
		c.swapSheetRequest(),
	}}
}

func required(f bot.Field) bot.Field {
	f.Required = true
	return f
}

func handedOn() bot.Field {
	return bot.Field{Name: "on", Help: "the day it changed hands; today if left out", Kind: bot.DayKind, Sense: calendar.Done}
}

func stockField(help string) bot.Field {
	var choices []bot.Choice
	for _, s := range exchange.Stocks() {
		choices = append(choices, bot.Choice{Label: string(s), Value: stockWord(s)})
	}
	return bot.Field{Name: "stock", Help: help, Kind: bot.ChoiceKind, Choices: choices}
}

func stockWord(s exchange.Stock) string { return strings.TrimSuffix(string(s), " cuttings") }

// readStock reads the field for a form of stock; "" where it was left out.
func readStock(in *bot.In) exchange.Stock {
	word := in.Choice("stock")
	for _, s := range exchange.Stocks() {
		if stockWord(s) == word {
			return s
		}
	}
	return ""
}

// alikeFields ask for any variety of a kind.
func (c counter) alikeFields() []bot.Field {
	return []bot.Field{classField(),
		{Name: "season", Help: "any of this season, in place of a variety", Kind: bot.ChoiceKind, Choices: bot.Choices(string(variety.Early), string(variety.Mid), string(variety.Late))},
		{Name: "form", Help: "any of this form", Kind: bot.TextKind},
		{Name: "colour", Help: "any of this colour", Kind: bot.TextKind},
		{Name: "like", Help: "any of the season and form of this variety", Kind: bot.NamedKind, Complete: c.completeVarieties}}
}

func (c counter) swapField(name, help string, required bool) bot.Field {
	return bot.Field{Name: name, Help: help, Kind: bot.NamedKind, Required: required, Bare: name == "swap", Complete: c.completeSwaps}
}

// numbered reads the number of a swap, a proposal, an offer or a want: "12", "#12".
func numbered(in *bot.In, field string) int64 {
	return bot.Take(in, field, func(text string) (int64, error) {
		n, err := strconv.ParseInt(strings.TrimPrefix(strings.TrimSpace(text), "#"), 10, 64)
		if err != nil || n < 1 {
			return 0, fault.New(fault.Unclear, "%q is no number of %s. Write it as in %s:12; /swap list show:mine has yours.", text, thing(field), field)
		}
		return n, nil
	})
}

func thing(field string) string {
	switch field {
	case "which":
		return "a swap"
	case "offer":
		return "an offer"
	}
	return "a " + field
}

func id(n int64) string { return strconv.FormatInt(n, 10) }

func (c counter) completeSwaps(ctx context.Context, in *bot.In, typed string) ([]bot.Choice, error) {
	return offerEach(ctx, c, in, typed, c.reg.MySwaps, func(s register.Swap) bot.Choice {
		return bot.Choice{Label: short(id(s.ID) + ": " + s.Sentence() + ", " + string(s.State)), Value: id(s.ID)}
	})
}

func (c counter) completeProposals(ctx context.Context, in *bot.In, typed string) ([]bot.Choice, error) {
	return offerEach(ctx, c, in, typed, c.reg.MyProposals, func(p register.Proposal) bot.Choice {
		return bot.Choice{Label: short(id(p.ID) + ": " + handoversOf(p.Swaps)), Value: id(p.ID)}
	})
}

func (c counter) completeOffers(ctx context.Context, in *bot.In, typed string) ([]bot.Choice, error) {
	return offerEach(ctx, c, in, typed, c.reg.MyOffers, func(o register.Offer) bot.Choice {
		return bot.Choice{Label: short(id(o.ID) + ": " + o.Stock.Of(o.Free) + " of " + o.Name), Value: id(o.ID)}
	})
}

func (c counter) completeWants(ctx context.Context, in *bot.In, typed string) ([]bot.Choice, error) {
	return offerEach(ctx, c, in, typed, c.reg.MyWants, func(w register.Want) bot.Choice {
		return bot.Choice{Label: short(id(w.ID) + ": " + w.Stock.Of(w.Free) + " of " + w.What()), Value: id(w.ID)}
	})
}

// offerEach offers what a member has of something.
func offerEach[T any](ctx context.Context, c counter, in *bot.In, typed string, of func(context.Context, int64) ([]T, error), as func(T) bot.Choice) ([]bot.Choice, error) {
	seat, err := c.reg.Find(ctx, in.Coop.Key, in.Who.Key)
	if err != nil || seat.Zero() {
		return nil, err
	}
	all, err := of(ctx, seat.Member.ID)
	choices := make([]bot.Choice, len(all))
	for i, one := range all {
		choices[i] = as(one)
	}
	return bot.Matching(choices, typed), err
}

// short cuts a label to what a platform shows of one.
func short(label string) string {
	if runes := []rune(label); len(runes) > 100 {
		return string(runes[:99]) + "…"
	}
	return label
}

func handoversOf(swaps []register.Swap) string {
	each := make([]string, len(swaps))
	for i, s := range swaps {
		each[i] = s.Sentence()
	}
	return strings.Join(each, "; ")
}
