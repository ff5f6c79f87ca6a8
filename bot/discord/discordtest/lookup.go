package discordtest

import (
	"net/http"
	"strings"
	"time"
)

// identified is an IDENTIFY that was taken.
type identified struct {
	at    time.Time
	shard int
}

// The gateway's budget: IDENTIFYs a day, and how long each of the one bucket keeps the next one off.
const (
	identifiesADay = 1000
	identifyEvery  = 5 * time.Second
)

func (s *Service) linkURL() string { return "ws" + strings.TrimPrefix(s.url, "http") + "/link" }

func (s *Service) getGateway(*call) reply {
	return ok(struct {
		URL string `json:"url"`
	}{s.linkURL()})
}

func (s *Service) getGatewayBot(*call) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	type start struct {
		Total          int   `json:"total"`
		Remaining      int   `json:"remaining"`
		ResetAfter     int64 `json:"reset_after"`
		MaxConcurrency int   `json:"max_concurrency"`
	}
	return ok(struct {
		URL    string `json:"url"`
		Shards int    `json:"shards"`
		Start  start  `json:"session_start_limit"`
	}{s.linkURL(), s.opts.Shards, start{identifiesADay, identifiesADay - len(s.identified), (24 * time.Hour).Milliseconds(), 1}})
}

func (s *Service) getApplication(*call) reply {
	return ok(struct {
		ID          string `json:"id"`
		Name        string `json:"name"`
		Description string `json:"description"`
		Flags       int    `json:"flags"`
		BotPublic   bool   `json:"bot_public"`
	}{applicationID, "Shortday", "", 0, true})
}

func (s *Service) getMe(*call) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	return ok(s.users[applicationID].json())
}

// seen gives the channel of a call, or why the bot may not see it.
func (s *Service) seen(c *call) (*Channel, reply) {
	channel := s.channels[c.r.PathValue("channel")]
	if channel == nil {
		return nil, refuse(http.StatusNotFound, 10003, "Unknown Channel")
	}
	if channel.may()&ViewChannel == 0 {
		return nil, refuse(http.StatusForbidden, 50001, "Missing Access")
	}
	return channel, reply{}
}

func (s *Service) getChannel(c *call) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	channel, refusal := s.seen(c)
	if channel == nil {
		return refusal
	}
	return ok(channel.json())
}

func (s *Service) postDirect(c *call) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	b, err := decode[struct {
		RecipientID string `json:"recipient_id"`
	}](c.body)
	user := s.users[b.RecipientID]
	if err != nil || user == nil || user.bot {
		return refuse(http.StatusBadRequest, 50033, "Invalid Recipient(s)")
	}
	return ok(s.directTo(user).json())
}

func (s *Service) getGuild(c *call) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	if guild := s.guild(c.r.PathValue("guild")); guild != nil {
		return reply{http.StatusOK, guild.created()}
	}
	return refuse(http.StatusForbidden, 50001, "Missing Access")
}

func (s *Service) getMember(c *call) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	guild := s.guild(c.r.PathValue("guild"))
	if guild == nil {
		return refuse(http.StatusForbidden, 50001, "Missing Access")
	}
	if c.r.PathValue("user") == applicationID {
		return ok(guild.me())
	}
	if m := guild.member(c.r.PathValue("user")); m != nil {
		return ok(m.json())
	}
	return refuse(http.StatusNotFound, 10007, "Unknown Member")
}

func (s *Service) getChannels(c *call) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	if guild := s.guild(c.r.PathValue("guild")); guild != nil {
		return ok(guild.channelList())
	}
	return refuse(http.StatusForbidden, 50001, "Missing Access")
}

func (s *Service) getRoles(c *call) reply {
	s.mu.Lock()
	defer s.mu.Unlock()
	if guild := s.guild(c.r.PathValue("guild")); guild != nil {
		return ok(guild.roleList())
	}
	return refuse(http.StatusForbidden, 50001, "Missing Access")
}
