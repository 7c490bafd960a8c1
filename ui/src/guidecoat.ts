/** Starts the islands. Every page works without them; each looks for its own marks in the page. */

import "./fonts.css";
import "./guidecoat.css";
import { followWork } from "./follow";
import { keepPages } from "./kept";
import { markPlaces } from "./mark";
import { steerOutlines } from "./outline";
import { turnPanels } from "./panel/start";
import { showPictures } from "./preview";
import { steerSliders } from "./sliders";
import { takeSubmits } from "./unsent/form";
import { showUnsent } from "./unsent/list";
import { rememberWho } from "./who";

rememberWho();
steerOutlines();
markPlaces();
showPictures();
steerSliders();
turnPanels();
takeSubmits();
showUnsent();
followWork();
keepPages();
