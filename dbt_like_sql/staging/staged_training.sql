-- staged_training: every day on which a crew was trained in a step.
-- Tables by crew keep the name all for the whole firm, so a crew that is really called so becomes crew all.
-- grain: one row per crew, step and day
-- key: crew, step, trained_on
-- columns:
--   crew        text    part of the key
--   step        text    part of the key
--   trained_on  date    part of the key
--   hours       double  hours of that day; empty where none are given
select
    case when training.crew = 'all' then 'crew all' else training.crew end as crew,
    training.step,
    training.trained_on,
    sum(training.hours) as hours
from training
group by case when training.crew = 'all' then 'crew all' else training.crew end, training.step, training.trained_on
