package discordtest

import "time"

// The shapes in which the service tells of its world.
type (
	unavailable struct {
		ID          string `json:"id"`
		Unavailable bool   `json:"unavailable,omitempty"`
	}
	userJSON struct {
		ID            string  `json:"id"`
		Username      string  `json:"username"`
		Discriminator string  `json:"discriminator"`
		GlobalName    string  `json:"global_name"`
		Avatar        *string `json:"avatar"`
		Bot           bool    `json:"bot,omitempty"`
		PublicFlags   int     `json:"public_flags"`
		Flags         int     `json:"flags"`
	}
	memberJSON struct {
		User        *userJSON `json:"user,omitempty"` // not beside a value that names them
		Nick        *string   `json:"nick"`
		Avatar      *string   `json:"avatar"`
		Roles       []string  `json:"roles"`
		JoinedAt    time.Time `json:"joined_at"`
		Deaf        *bool     `json:"deaf,omitempty"`
		Mute        *bool     `json:"mute,omitempty"`
		Flags       int       `json:"flags"`
		Permissions string    `json:"permissions,omitempty"` // only within an interaction
	}
	roleJSON struct {
		ID          string  `json:"id"`
		Name        string  `json:"name"`
		Color       int     `json:"color"`
		Colors      colours `json:"colors"`
		Hoist       bool    `json:"hoist"`
		Position    int     `json:"position"`
		Permissions string  `json:"permissions"`
		Managed     bool    `json:"managed"`
		Mentionable bool    `json:"mentionable"`
		Flags       int     `json:"flags"`
	}
	colours struct {
		Primary   int  `json:"primary_color"`
		Secondary *int `json:"secondary_color"`
		Tertiary  *int `json:"tertiary_color"`
	}
	overwriteJSON struct {
		ID    string `json:"id"`
		Type  int    `json:"type"` // 0 role, 1 member
		Allow string `json:"allow"`
		Deny  string `json:"deny"`
	}
	channelJSON struct {
		ID          string          `json:"id"`
		Type        int             `json:"type"`
		GuildID     string          `json:"guild_id,omitempty"`
		ParentID    string          `json:"parent_id,omitempty"`
		Name        string          `json:"name,omitempty"`
		Position    *int            `json:"position,omitempty"`    // not of a direct one
		Permissions string          `json:"permissions,omitempty"` // only within an interaction
		Overwrites  []overwriteJSON `json:"permission_overwrites,omitempty"`
		Recipients  []userJSON      `json:"recipients,omitempty"`
	}
	guildJSON struct {
		ID          string        `json:"id"`
		Name        string        `json:"name"`
		OwnerID     string        `json:"owner_id"`
		Locale      string        `json:"preferred_locale"`
		JoinedAt    time.Time     `json:"joined_at"`
		Large       bool          `json:"large"`
		MemberCount int           `json:"member_count"`
		Channels    []channelJSON `json:"channels"`
		Roles       []roleJSON    `json:"roles"`
		Members     []memberJSON  `json:"members"`
	}
)
