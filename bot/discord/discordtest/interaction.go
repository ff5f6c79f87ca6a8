package discordtest

import (
	"errors"
	"fmt"
	"net/http"
	"slices"
	"time"
)

// The kinds of interaction and of its first answer.
const (
	kindCommand    = 2
	kindComponent  = 3
	kindCompletion = 4
	kindForm       = 5

	answerMessage     = 4
	answerDeferred    = 5
	answerDeferUpdate = 6
	answerUpdate      = 7
	answerCompletions = 8
	answerForm        = 9
)

// How long a first answer may take, and how long the token lives after it.
const (
	firstAnswer = 3 * time.Second
	tokenLife   = 15 * time.Minute
)

// Form is a form (modal) as the member sees it.
type Form struct {
	CustomID, Title string
	Inputs          []Component
	by              *Member
	in              *Channel
	message         *Message // the message whose button opened it, if any
}

// Interaction is one thing a member did, and what came of it.
type Interaction struct {
	ID, token string
	s         *Service
	kind      int
	by        *Member
	in        *Channel
	asked     time.Time
	message   *Message // the message whose button or menu was used
	said      string   // what was asked, in words

	answered    time.Time // when the first answer came; zero while none has
	deferred    bool      // an answer is still to come
	wasDeferred bool
	private     bool
	original    *Message
	followUps   []*Message
	choices     *[]Choice
	form        *Form
	expired     bool
	lost        bool // the first answer was taken but its sender was not told
}

// ErrUnanswered is what a member sees as "the application did not respond".
var ErrUnanswered = errors.New("the application did not respond")

// Expire makes the interaction's token void, as a quarter of an hour does.
func (i *Interaction) Expire() {
	i.s.mu.Lock()
	defer i.s.mu.Unlock()
	i.expired = true
}

// Deferred tells whether the first answer was only a promise of one.
func (i *Interaction) Deferred() bool {
	i.s.mu.Lock()
	defer i.s.mu.Unlock()
	return i.wasDeferred
}

// Took gives how long the first answer took; 0 where there is none.
func (i *Interaction) Took() time.Duration {
	i.s.mu.Lock()
	defer i.s.mu.Unlock()
	if i.answered.IsZero() {
		return 0
	}
	return i.answered.Sub(i.asked)
}

// Wait gives the answer as a message once it is there, deferred or not. Without a first answer in 3 s it gives ErrUnanswered.
func (i *Interaction) Wait() (Message, error) {
	if err := i.first(); err != nil {
		return Message{}, err
	}
	if err := i.s.await(30*time.Second, func() bool { return !i.deferred }); err != nil {
		return Message{}, fmt.Errorf("a deferred answer never came: %w", err)
	}
	i.s.mu.Lock()
	defer i.s.mu.Unlock()
	if i.original == nil {
		return Message{}, errors.New("answered with something else than a message")
	}
	return *i.original, nil
}

// Form gives the form that the interaction was answered with.
func (i *Interaction) Form() (Form, error) {
	if err := i.first(); err != nil {
		return Form{}, err
	}
	i.s.mu.Lock()
	defer i.s.mu.Unlock()
	if i.form == nil {
		return Form{}, errors.New("answered with something else than a form")
	}
	return *i.form, nil
}

// First waits for the first answer, and gives the form where that is what it is.
func (i *Interaction) First() (*Form, error) {
	if err := i.first(); err != nil {
		return nil, err
	}
	i.s.mu.Lock()
	defer i.s.mu.Unlock()
	return i.form, nil
}

// FollowUps waits for so many messages after the first and gives them.
func (i *Interaction) FollowUps(n int, limit time.Duration) ([]Message, error) {
	err := i.s.await(limit, func() bool { return len(i.followUps) >= n })
	i.s.mu.Lock()
	defer i.s.mu.Unlock()
	var list []Message
	for _, m := range i.followUps {
		list = append(list, *m)
	}
	return list, err
}

func (i *Interaction) first() error {
	err := i.s.await(firstAnswer+100*time.Millisecond, func() bool { return !i.answered.IsZero() })
	if err != nil {
		return ErrUnanswered
	}
	return nil
}

// byToken gives the interaction a request is about, or the refusal; the caller holds the lock.
func (s *Service) byToken(c *call) (*Interaction, reply) {
	i := s.interactions[c.r.PathValue("token")]
	if i == nil {
		s.violate("an answer to an interaction nobody made")
		return nil, refuse(http.StatusNotFound, 10015, "Unknown Webhook")
	}
	if i.answered.IsZero() {
		s.violate("a follow-up before the first answer")
		return nil, refuse(http.StatusNotFound, 10015, "Unknown Webhook")
	}
	if i.expired || s.opts.Now().Sub(i.asked) > tokenLife {
		return nil, refuse(http.StatusUnauthorized, 50027, "Invalid Webhook Token")
	}
	return i, reply{}
}

func (s *Service) postCallback(c *call) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	i := s.interactions[c.r.PathValue("token")]
	if i == nil || i.ID != c.r.PathValue("id") {
		s.violate("an answer to an interaction nobody made")
		return refuse(http.StatusNotFound, 10062, "Unknown interaction")
	}
	if i.expired || i.answered.IsZero() && s.opts.Now().Sub(i.asked) > firstAnswer {
		s.violate("an answer to %s after %v", i.ID, s.opts.Now().Sub(i.asked))
		return refuse(http.StatusNotFound, 10062, "Unknown interaction")
	}
	if !i.answered.IsZero() {
		if !i.lost {
			s.violate("a second answer to %s", i.ID)
		}
		return refuse(http.StatusBadRequest, 40060, "Interaction has already been acknowledged.")
	}
	answer, err := decode[callback](c.body)
	if err == nil {
		err = i.checkAnswer(&answer, c.files)
	}
	if err != nil {
		s.violate("answering: %w", err)
		return refuse(http.StatusBadRequest, 50035, "Invalid Form Body")
	}
	i.take(&answer, c.files)
	i.answered = s.opts.Now()
	s.touch()
	return reply{status: http.StatusNoContent}
}

// checkAnswer holds the first answer against the rules for its kind.
func (i *Interaction) checkAnswer(a *callback, files []file) error {
	c := &check{}
	if a.Data == nil {
		a.Data = &body{}
	}
	c.that((a.Type == answerCompletions) == (i.kind == kindCompletion), "an answer of type %d to an interaction of type %d", a.Type, i.kind)
	switch a.Type {
	case answerMessage, answerUpdate:
		c.message(a.Data, files)
		c.that(!a.Data.empty(files) || a.Type == answerUpdate, "an empty message")
		c.that(len(a.Data.Nonce) == 0, "a nonce on an interaction's answer")
		c.that(a.Type == answerMessage || i.message != nil, "an update without a message")
	case answerDeferred:
		c.that(a.Data.Flags&^private == 0, "flags %d on a promise", a.Data.Flags)
	case answerDeferUpdate:
		c.that(i.message != nil, "an update without a message")
	case answerCompletions:
		c.completions(a.Data.Choices)
	case answerForm:
		c.that(i.kind != kindForm, "a form in answer to a form")
		c.modal(a.Data)
	default:
		c.that(false, "an answer of type %d", a.Type)
	}
	return c.err()
}

// take makes the first answer what the member sees.
func (i *Interaction) take(a *callback, files []file) {
	i.private = a.Data.Flags&private != 0
	switch a.Type {
	case answerMessage:
		i.original = i.s.newMessage(i.in.ID, a.Data, files)
		i.own(i.original, i.private)
	case answerDeferred, answerDeferUpdate:
		i.deferred, i.wasDeferred = true, true
		if a.Type == answerDeferUpdate {
			i.original = i.message
		}
	case answerUpdate:
		i.s.apply(i.message, a.Data, files)
		i.message.Edited, i.original = true, i.message
	case answerCompletions:
		i.choices = a.Data.Choices
	case answerForm:
		i.form = &Form{CustomID: a.Data.CustomID, Title: a.Data.Title, by: i.by, in: i.in, message: i.message}
		for _, r := range *a.Data.Components {
			i.form.Inputs = append(i.form.Inputs, r.Components...)
		}
	}
}

// own makes a message the interaction's, seen by the asker alone if private.
func (i *Interaction) own(m *Message, private bool) {
	m.Private, m.owner = private, i
	if private {
		m.For = i.by.User.ID
	}
}

// readMessage decodes and checks the message of a follow-up or an edit.
func (s *Service) readMessage(c *call, edit bool) (*body, reply) {
	b, err := decode[body](c.body)
	if err == nil {
		check := &check{}
		check.message(&b, c.files)
		check.that(!edit || b.Flags == 0, "flags on an edit")
		check.that(edit || !b.empty(c.files), "an empty message")
		check.that(len(b.Nonce) == 0, "a nonce on an interaction's answer")
		err = check.err()
	}
	if err != nil {
		s.violate("completing an answer: %w", err)
		return nil, refuse(http.StatusBadRequest, 50035, "Invalid Form Body")
	}
	return &b, reply{}
}

func (s *Service) postFollowUp(c *call) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	i, refusal := s.byToken(c)
	if i == nil {
		return refusal
	}
	b, refusal := s.readMessage(c, false)
	if b == nil {
		return refusal
	}
	if i.deferred {
		s.violate("a follow-up while the promised answer is still missing")
	}
	m := s.newMessage(i.in.ID, b, c.files)
	i.own(m, b.Flags&private != 0)
	if i.private && !m.Private && !i.wasDeferred {
		s.violate("a follow-up for all after an answer for one")
	}
	i.followUps = append(i.followUps, m)
	s.touch()
	return ok(s.messageJSON(m))
}

func (s *Service) getOriginal(c *call) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	i, refusal := s.byToken(c)
	if i == nil {
		return refusal
	}
	if i.original == nil {
		return refuse(http.StatusNotFound, 10008, "Unknown Message")
	}
	return ok(s.messageJSON(i.original))
}

func (s *Service) patchAnswer(c *call) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	i, refusal := s.byToken(c)
	if i == nil {
		return refusal
	}
	b, refusal := s.readMessage(c, true)
	if b == nil {
		return refusal
	}
	m := i.named(c.r.PathValue("message"))
	if m == nil && i.deferred {
		if b.empty(c.files) {
			s.violate("a promised answer that is empty")
			return refuse(http.StatusBadRequest, 50006, "Cannot send an empty message")
		}
		m = s.newMessage(i.in.ID, b, c.files)
		i.own(m, i.private)
		i.original = m
	} else if m != nil {
		s.apply(m, b, c.files)
		m.Edited = true
	} else {
		return refuse(http.StatusNotFound, 10008, "Unknown Message")
	}
	i.deferred = false
	s.touch()
	return ok(s.messageJSON(m))
}

func (s *Service) deleteAnswer(c *call) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	i, refusal := s.byToken(c)
	if i == nil {
		return refusal
	}
	m := i.named(c.r.PathValue("message"))
	if m == nil {
		return refuse(http.StatusNotFound, 10008, "Unknown Message")
	}
	s.messages = slices.DeleteFunc(s.messages, func(o *Message) bool { return o == m })
	s.touch()
	return reply{status: http.StatusNoContent}
}

// named gives one of the interaction's messages by its id or as "@original".
func (i *Interaction) named(id string) *Message {
	if id == "@original" {
		return i.original
	}
	for _, m := range i.followUps {
		if m.ID == id {
			return m
		}
	}
	return nil
}
