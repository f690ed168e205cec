package auth

import (
	"context"
	"strings"

	"github.com/google/uuid"

	"fringework/domain"
)

// linkPrefix tells people, logs and scanners what they hold.
const linkPrefix = "fwl_"

// NewLinkToken makes the token of a link that shows something of an academy to
// whoever has it: the academy, and 256 random bits. Only the digest is kept.
func NewLinkToken(academy domain.ID) (token string, d Digest, err error) {
	id, err := uuid.Parse(string(academy))
	if err != nil {
		return "", d, err
	}
	secret := newSecret()
	token = linkPrefix + encode(append(id[:], secret[:]...))
	return token, DigestOf(token), nil
}

// ReadLinkToken takes a token of a link apart; ok is false for what is none.
func ReadLinkToken(token string) (academy domain.ID, d Digest, ok bool) {
	text, found := strings.CutPrefix(token, linkPrefix)
	raw, err := decode(text, 16+32)
	if !found || err != nil {
		return "", d, false
	}
	return domain.ID(uuid.UUID(raw[:16]).String()), DigestOf(token), true
}

// ByLink looks something up by a secret from a link, within the limits on
// guessing: who gives too many that find nothing (NotFound) has to wait.
func (s *Service) ByLink(ctx context.Context, address string, look func() error) error {
	limit := secretBucket(Origin(address))
	if err := s.waitFor(ctx, limit); err != nil {
		return err
	}
	err := look()
	if isNotFound(err) {
		return s.missed(ctx, limit, err)
	}
	return err
}
