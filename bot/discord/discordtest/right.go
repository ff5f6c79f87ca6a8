package discordtest

import "strconv"

// Right is a bit of the platform's permissions.
type Right int64

// The rights that matter to a bot that posts, and the one that makes a steward.
const (
	Administrator Right = 1 << 3
	ManageServer  Right = 1 << 5
	ViewChannel   Right = 1 << 10
	SendMessages  Right = 1 << 11
	EmbedLinks    Right = 1 << 14
	AttachFiles   Right = 1 << 15
	ReadHistory   Right = 1 << 16
	SendInThreads Right = 1 << 38
	Posting             = ViewChannel | SendMessages | EmbedLinks | AttachFiles | ReadHistory | SendInThreads
)

func bits(r Right) string { return strconv.FormatInt(int64(r), 10) }
