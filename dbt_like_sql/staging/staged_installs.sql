-- staged_installs: every door taken in, with the day its watch can start.
-- Tables by crew keep the name all for the whole firm, so a crew that is really called so becomes crew all.
-- grain: one row per install_id
-- key: install_id
-- each door: by itself
-- columns:
--   install_id        text     key
--   job_no            text     the firm's own number of the job
--   crew              text     who fitted it; crew all where that is written all
--   product           text     as written
--   material          text     as written
--   colour            text     light or dark
--   leaves            integer  number of leaves
--   width_mm          double   mm
--   height_mm         double   mm
--   glass_mm          double   mm, all panes together
--   leaf_weight_kg    double   kg
--   storey            text     as written
--   exposure          text     as written
--   orientation       text     as written
--   substrate         text     as written
--   work              text     new or replacement
--   surveyed_on       date     day of survey
--   fitted_on         date     day of fitting
--   handed_over_on    date     day of handover
--   removed_on        date     day it left service
--   started_on        date     handover, else fitting
select
    installs.install_id,
    installs.job_no,
    case when installs.crew = 'all' then 'crew all' else installs.crew end as crew,
    installs.product,
    installs.material,
    installs.colour,
    installs.leaves,
    installs.width_mm,
    installs.height_mm,
    installs.glass_mm,
    installs.leaf_weight_kg,
    installs.storey,
    installs.exposure,
    installs.orientation,
    installs.substrate,
    installs.work,
    installs.surveyed_on,
    installs.fitted_on,
    installs.handed_over_on,
    installs.removed_on,
    coalesce(installs.handed_over_on, installs.fitted_on) as started_on
from installs
