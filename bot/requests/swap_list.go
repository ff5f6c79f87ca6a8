package requests

import (
	"context"
	"fmt"
	"slices"

	"shortday/bot"
	"shortday/knowledge/exchange"
	"shortday/knowledge/fault"
	"shortday/knowledge/register"
)

// What /swap list can be asked for.
const (
	showOffers = "offers"
	showWants  = "wants"
	showWanted = "wanted"
	showMine   = "mine"
	showRisk   = "risk"
	showLedger = "ledger"
)

func shows() []bot.Choice {
	return []bot.Choice{{Label: "what is on offer", Value: showOffers}, {Label: "what is wanted", Value: showWants}, {Label: "what others want that I have", Value: showWanted},
		{Label: "mine: offers, wants, proposals, swaps", Value: showMine}, {Label: "varieties at risk", Value: showRisk}, {Label: "what I gave and received", Value: showLedger}}
}

// What a list shows at most; it says that there is more.
const (
	mostListed  = 25
	mostKeepers = 10
)

func (c counter) swapList(ctx context.Context, in *bot.In) (bot.Reply, error) {
	seat := c.seat(ctx, in)
	_, own := c.actor(ctx, in, seat)
	v := c.variety(ctx, in, seat.Coop.ID, register.Member{}, "variety")
	shelf := register.Shelf{Coop: seat.Coop.ID, Variety: v.ID, Stock: readStock(in), Near: in.Day("near"), Today: in.Today(), Limit: mostListed + 1}
	show := in.Choice("show")
	if err := in.Err(); err != nil {
		return bot.Reply{}, err
	}
	switch show {
	case showOffers:
		return c.listOffers(ctx, shelf, v)
	case showWants:
		return c.listWants(ctx, shelf, v)
	case showRisk:
		return c.listRisks(ctx, seat)
	}
	if show != "" && own.ID == 0 {
		return bot.Reply{}, fault.New(fault.Missing, "Nothing is yours yet. /stock add enters plants that you have, /swap want what you would like.")
	}
	switch show {
	case showWanted:
		return c.listWanted(ctx, own, shelf)
	case showMine:
		return c.listMine(ctx, in, register.Seat{Coop: seat.Coop, Member: own})
	case showLedger:
		return c.ledger(ctx, seat.Coop, own)
	}
	if v.ID != 0 {
		return c.whoHas(ctx, seat, shelf, v)
	}
	return c.listOffers(ctx, shelf, v)
}

func titled(what string, v register.Variety) string {
	if v.ID == 0 {
		return what
	}
	return what + ": " + v.Name
}

func offerTable(offers []register.Offer) bot.Table {
	rows := bot.Table{Columns: bot.Columns("offer", "variety", "stock", "number", "from", "until", "who", "where")}
	for _, o := range offers {
		rows.Add(bot.Text(id(o.ID)), bot.Text(o.Name), bot.Text(string(o.Stock)), bot.Whole(o.Free), bot.Day(o.From), bot.Day(o.Until), bot.Text(o.Owner), textCell(o.Spot))
	}
	return rows
}

func wantTable(wants []register.Want) bot.Table {
	rows := bot.Table{Columns: bot.Columns("want", "variety", "stock", "number", "until", "who")}
	for _, w := range wants {
		rows.Add(bot.Text(id(w.ID)), bot.Text(w.What()), bot.Text(string(w.Stock)), bot.Whole(w.Free), bot.Day(w.Last), bot.Text(w.Owner))
	}
	return rows
}

// atMost cuts a list to what is shown, and says that there is more.
func atMost[T any](all []T) (shown []T, more string) {
	if len(all) <= mostListed {
		return all, ""
	}
	return all[:mostListed], fmt.Sprintf("There are more than these %d: name a variety:, a stock: or near: a day for those that matter.", mostListed)
}

func (c counter) listOffers(ctx context.Context, shelf register.Shelf, v register.Variety) (bot.Reply, error) {
	all, err := c.reg.OnOffer(ctx, shelf)
	shown, more := atMost(all)
	reply := bot.Reply{Title: titled("On offer", v), Rows: offerTable(shown)}
	order := ""
	if !shelf.Near.IsZero() {
		order = "Those ready nearest to " + shelf.Near.Long() + " come first."
	}
	if reply.Text = paragraphs(order, more); len(all) == 0 {
		reply.Rows, reply.Text = bot.Table{}, "Nothing is on offer. /swap offer offers a part of a batch of yours."
	}
	reply.Next = []bot.Next{{Label: "What is wanted", Request: bot.Typed("/swap list", "variety", v.Name, "show", showWants)},
		{Label: "What others want that I have", Request: bot.Typed("/swap list", "show", showWanted)},
		{Label: "Mine", Request: bot.Typed("/swap list", "show", showMine)}}
	return reply, err
}

func (c counter) listWants(ctx context.Context, shelf register.Shelf, v register.Variety) (bot.Reply, error) {
	all, err := c.reg.Wanted(ctx, shelf)
	shown, more := atMost(all)
	reply := bot.Reply{Title: titled("Wanted", v), Rows: wantTable(shown), Text: more}
	if len(all) == 0 {
		reply.Rows, reply.Text = bot.Table{}, "Nothing is wanted. /swap want says what you would like."
	}
	return reply, err
}

// listWanted has what others want of what the asker keeps, with the offer prepared where a batch can give it.
func (c counter) listWanted(ctx context.Context, own register.Member, shelf register.Shelf) (bot.Reply, error) {
	all, err := c.reg.WantedOfMine(ctx, own.ID, shelf)
	if err != nil {
		return bot.Reply{}, err
	}
	shown, more := atMost(all)
	reply := bot.Reply{Title: "Wanted, and you keep it", Rows: wantTable(shown), Text: more, Private: true}
	if len(all) == 0 {
		reply.Rows, reply.Text = bot.Table{}, "Nobody wants what you keep. /swap list show:wants has all that is wanted."
		return reply, nil
	}
	for _, w := range shown {
		if len(reply.Next) == 3 || w.Variety == 0 {
			continue
		}
		batches, err := c.reg.Batches(ctx, own.ID, w.Variety)
		if err != nil {
			return bot.Reply{}, err
		}
		i := slices.IndexFunc(batches, func(b register.Batch) bool { return register.Gives(b.Stage, w.Stock) && b.Count >= w.Free })
		if i >= 0 {
			reply.Next = append(reply.Next, bot.Next{Label: short("Offer " + w.Stock.Of(w.Free) + " of " + w.Name),
				Request: bot.Typed("/swap offer", "batch", batches[i].Mark, "number", fmt.Sprint(w.Free), "stock", stockWord(w.Stock))})
		}
	}
	return reply, nil
}

// whoHas answers who keeps a variety, what of it is on offer, and who wants it.
func (c counter) whoHas(ctx context.Context, seat register.Seat, shelf register.Shelf, v register.Variety) (bot.Reply, error) {
	batches, keepers, err := c.reg.KeepersOf(ctx, v.ID, mostKeepers)
	if err != nil {
		return bot.Reply{}, err
	}
	offers, err := c.reg.OnOffer(ctx, shelf)
	if err != nil {
		return bot.Reply{}, err
	}
	wants, err := c.reg.Wanted(ctx, shelf)
	if err != nil {
		return bot.Reply{}, err
	}
	risk, atRisk, err := c.reg.RiskOf(ctx, seat.Coop.ID, v.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	offered, more := atMost(offers)
	wanted, also := atMost(wants)
	var words []string
	for _, w := range wanted {
		words = append(words, fmt.Sprintf("%s wants %s until %s.", w.Owner, w.Stock.Of(w.Free), w.Last.Long()))
	}
	reply := bot.Reply{Title: "Who has " + v.Name, Rows: offerTable(offered)}
	none := ""
	if len(offers) == 0 {
		reply.Rows, none = bot.Table{}, "None of it is on offer."
	}
	danger := ""
	if atRisk {
		danger = "At risk: " + risk.Sentence()
	}
	reply.Text = paragraphs(keepersWords(batches, keepers), danger, sentences(words), none, firstOf(more, also))
	reply.Next = []bot.Next{{Label: "I want some", Request: bot.Typed("/swap want", "variety", v.Name)}}
	return reply, nil
}

func firstOf(texts ...string) string {
	for _, text := range texts {
		if text != "" {
			return text
		}
	}
	return ""
}

// keepersWords says who keeps a variety, and what each has.
func keepersWords(batches []register.Batch, members int) string {
	if len(batches) == 0 {
		return "Nobody in the co-op keeps it."
	}
	var words []string
	for i := 0; i < len(batches); {
		end := i
		for end < len(batches) && batches[end].Member == batches[i].Member {
			end++
		}
		words = append(words, batches[i].Owner+": "+totals(batches[i:end]))
		i = end
	}
	if more := members - len(words); more > 0 {
		words = append(words, fmt.Sprintf("And %s more.", plural(more, "member", "members")))
	}
	return sentences(words)
}

// listMine has all that concerns the asker: what waits for their word first.
func (c counter) listMine(ctx context.Context, in *bot.In, mine register.Seat) (bot.Reply, error) {
	own := mine.Member
	if err := c.reg.Lapse(ctx, own.Coop, in.At); err != nil {
		return bot.Reply{}, err
	}
	proposals, err := c.reg.MyProposals(ctx, own.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	swaps, err := c.reg.MySwaps(ctx, own.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	offers, err := c.reg.MyOffers(ctx, own.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	wants, err := c.reg.MyWants(ctx, own.ID)
	if err != nil {
		return bot.Reply{}, err
	}
	reply := bot.Reply{Title: "Your offers, wants and swaps", Private: true, Rows: bot.Table{Columns: bot.Columns("kind", "number", "what", "free", "from", "until")}}
	var text prose
	held, err := c.heldBy(ctx, in, own)
	if err != nil {
		return bot.Reply{}, err
	}
	for _, o := range offers {
		if h, waits := held[o.Batch]; waits {
			text.add("Offer %d waits and others do not see it: %s is held back until %s (%s).", o.ID, o.Mark, h.Last.Long(), holdWords(h))
		}
		reply.Rows.Add(bot.Text("offer"), bot.Text(id(o.ID)), bot.Text(o.Stock.Of(o.Number)+" of "+o.Name+", "+o.Mark), bot.Whole(o.Free), bot.Day(o.From), bot.Day(o.Until))
	}
	for _, w := range wants {
		reply.Rows.Add(bot.Text("want"), bot.Text(id(w.ID)), bot.Text(w.Stock.Of(w.Number)+" of "+w.What()), bot.Whole(w.Free), bot.Cell{}, bot.Day(w.Last))
	}
	for _, s := range swaps {
		if s.State != register.Proposed {
			reply.Rows.Add(bot.Text("swap, "+string(s.State)), bot.Text(id(s.ID)), bot.Text(s.Sentence()), bot.Cell{}, bot.Day(s.First), bot.Day(s.Last))
			reply.Next = append(reply.Next, nextWord(s, own)...)
			if next := meetNext(s, in.Text("for")); len(next) > 0 {
				reply.Next = append(reply.Next, next[0])
			}
		}
		if s.Meets() {
			text.add("%s", meetsWords(in, s, own, &reply))
		}
	}
	var asked []bot.Next
	for _, p := range proposals {
		text.add("Proposal %d, until %s: %s. %s", p.ID, p.Expires.Long(), handoversOf(p.Swaps), waitsFor(p, own))
		if slices.ContainsFunc(p.Says, func(s register.Assent) bool { return s.Member == own.ID && s.Answer == "" }) {
			asked = append(asked, bot.Next{Label: fmt.Sprintf("Agree to proposal %d", p.ID), Request: bot.Typed("/swap agree", "proposal", id(p.ID), "for", in.Text("for"))},
				bot.Next{Label: fmt.Sprintf("Refuse proposal %d", p.ID), Request: bot.Typed("/swap agree", "proposal", id(p.ID), "answer", "no", "for", in.Text("for"))})
		}
	}
	spare, next, err := c.spares(ctx, in, mine)
	if err != nil {
		return bot.Reply{}, err
	}
	text.add("%s", spare)
	reply.Next = slices.Concat(asked, reply.Next, next)
	if len(reply.Rows.Rows) == 0 && len(proposals) == 0 {
		text.add("You have nothing on offer, want nothing, and no swap is under way.")
		reply.Rows = bot.Table{}
	}
	reply.Text = text.String()
	return reply, nil
}

// meetsWords says when and where a swap is handed over, for a reply that is to show the instant.
func meetsWords(in *bot.In, s register.Swap, own register.Member, reply *bot.Reply) string {
	words, instants := s.Handover(in.Zone)
	reply.Instants = append(reply.Instants, instants...)
	if s.Meeting.At.After(in.At) {
		return fmt.Sprintf("Swap %d is handed over: %s.", s.ID, words)
	}
	says := "Say"
	if s.Giver != own.ID {
		says = s.GiverName + " says"
	}
	return fmt.Sprintf("Swap %d was to be handed over: %s. %s /swap given if it was; /swap meet appoints another day and hour.", s.ID, words, says)
}

func waitsFor(p register.Proposal, own register.Member) string {
	for _, s := range p.Says {
		if s.Member == own.ID && s.Answer == "" {
			return "It waits for your word."
		}
	}
	return "It waits for " + listed(p.Silent()) + "."
}

// nextWord is the word that a swap waits for, where it is this member's.
func nextWord(s register.Swap, own register.Member) []bot.Next {
	switch {
	case s.State == register.Agreed && s.Giver == own.ID:
		return []bot.Next{{Label: fmt.Sprintf("I have given swap %d", s.ID), Request: bot.Typed("/swap given", "swap", id(s.ID))}}
	case s.State == register.HandedOver && s.Receiver == own.ID:
		return []bot.Next{{Label: fmt.Sprintf("I have received swap %d", s.ID), Request: bot.Typed("/swap received", "swap", id(s.ID))}}
	}
	return nil
}

func (c counter) listRisks(ctx context.Context, seat register.Seat) (bot.Reply, error) {
	all, err := c.reg.AtRisk(ctx, seat.Coop.ID, mostListed+1)
	shown, more := atMost(all)
	var text prose
	for _, k := range shown {
		text.add("%s", k.Sentence())
	}
	if len(all) == 0 {
		text.add("No variety is at risk: two members or more keep each, and more than %d plants.", register.FewPlants)
	}
	text.add("%s", more)
	reply := bot.Reply{Title: "Varieties at risk", Text: text.String()}
	if len(all) > 0 {
		reply.Next = []bot.Next{{Label: short("I could keep " + all[0].Name), Request: bot.Typed("/swap want", "variety", all[0].Name, "stock", stockWord(exchange.Stools))}}
	}
	return reply, err
}

// ledger has what a member gave and received; of the co-op the sums alone.
func (c counter) ledger(ctx context.Context, coop register.Coop, own register.Member) (bot.Reply, error) {
	l, err := c.reg.Ledger(ctx, own)
	if err != nil {
		return bot.Reply{}, err
	}
	rows := bot.Table{Columns: bot.Columns("", "given", "received")}
	rows.Columns[0] = bot.Column{Key: "units", Head: "units"}
	rows.Add(bot.Text("handed over"), bot.Whole(l.Given), bot.Whole(l.Received))
	rows.Add(bot.Text("agreed, still to come"), bot.Whole(l.ToGive), bot.Whole(l.ToReceive))
	return bot.Reply{Title: "What you gave and received", Private: true, Rows: rows, Text: paragraphs(sharingWords(coop, l),
		fmt.Sprintf("In the whole co-op %s handed over and %s still to come.", plural(l.CoopGiven, "unit was", "units were"), plural(l.CoopOpen, "unit is", "units are")))}, nil
}

// sharingWords says how the co-op shares, and what that leaves a member.
func sharingWords(coop register.Coop, l register.Ledger) string {
	if coop.Sharing != register.InBalance {
		return "The co-op shares freely: nobody has to give as much as they receive."
	}
	more := coop.Credit - (l.Received + l.ToReceive - l.Given - l.ToGive)
	return fmt.Sprintf("The co-op shares in balance: you may receive %s more than you give, so %d more from where you stand.",
		plural(coop.Credit, "unit", "units"), max(0, more))
}
