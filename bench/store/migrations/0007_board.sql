-- The board shows open cases, the one opened first at the top: it reads a page of them from an index.
CREATE INDEX summaries_open ON case_summaries (opened_at, code) WHERE state <> 'released';
CREATE INDEX summaries_open_step ON case_summaries (step, opened_at, code) WHERE state <> 'released';
CREATE INDEX summaries_state_opened ON case_summaries (state, opened_at, code);
CREATE INDEX summaries_to_settle ON case_summaries (opened_at, code)
WHERE state = 'recalled' OR contradictions > 0;
