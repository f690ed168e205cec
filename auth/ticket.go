package auth

import (
	"context"
	"encoding/json"
	"time"

	"fringework/domain"
)

// ticketPrefix tells people, logs and scanners what they hold.
const ticketPrefix = "fwt_"

// maxMisses is how often something wrong may be presented with a ticket.
const maxMisses = 5

// issue makes a ticket that is good for a while, and gives its secret. doc is
// what to remember for it, as JSON.
func (s *Service) issue(ctx context.Context, tx TicketTx, purpose Purpose, account domain.ID, life time.Duration, doc any) (secret string, expires time.Time, err error) {
	text, err := json.Marshal(doc)
	if err != nil {
		return "", expires, err
	}
	raw, now := newSecret(), s.now()
	secret, expires = ticketPrefix+encode(raw[:]), now.Add(life)
	return secret, expires, tx.AddTicket(ctx, Ticket{
		Digest: DigestOf(secret), Purpose: purpose, Account: account, Doc: string(text), Created: now, Expires: expires,
	})
}

// present looks a ticket up by its secret, within the limits on guessing, and
// reads what was remembered into doc. stale is the answer to one that is not, or
// no longer, good.
func (s *Service) present(ctx context.Context, secret string, purpose Purpose, origin string, doc any, stale *domain.Error) (t Ticket, err error) {
	limit := secretBucket(origin)
	if err := s.waitFor(ctx, limit); err != nil {
		return t, err
	}
	err = s.Store.Read(ctx, func(tx Tx) (err error) {
		t, err = tx.Ticket(ctx, DigestOf(secret))
		return err
	})
	if isNotFound(err) || err == nil && (t.Purpose != purpose || t.Misses >= maxMisses || !s.now().Before(t.Expires)) {
		return Ticket{}, s.missed(ctx, limit, stale)
	}
	if err == nil {
		err = json.Unmarshal([]byte(t.Doc), doc)
	}
	return t, err
}

// spend takes a ticket in the transaction of what it is good for; whoever is
// second gets stale.
func spend(ctx context.Context, tx TicketTx, t Ticket, stale *domain.Error) error {
	taken, err := tx.TakeTicket(ctx, t.Digest)
	if err == nil && !taken {
		err = stale
	}
	return err
}
